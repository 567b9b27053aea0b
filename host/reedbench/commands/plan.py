"""`reedbench plan`: what to do to which reed."""

import shutil
from pathlib import Path

import click

from reedbench.ledger import Ledger, StoredSurvey
from reedbench.options import json_option, ledger_option, survey_argument
from reedbench.output import report
from reedbench.plan import plan_as_dict
from reedbench.planning import planned
from reedbench.surveys import survey_dict
from reedbench.terminal import plan_lines


@click.command("plan")
@survey_argument
@ledger_option
@json_option
def command(survey: int | None, ledger_path: Path, as_json: bool) -> None:
    """Plan the work that follows from the SURVEY of that number, or from the last one.

    \b
    Example:
        reedbench plan 12
    """
    with Ledger.open(ledger_path) as ledger:
        taken, plan = planned(ledger, survey)
    lines = [*_origin(taken), *plan_lines(plan, shutil.get_terminal_size().columns)]
    report({"survey": survey_dict(taken), **plan_as_dict(plan)}, lines, as_json)


def _origin(survey: StoredSurvey) -> list[str]:
    """Says of an imported survey that nothing but what was stated is known of its uncertainty."""
    if survey.file is None:
        return []
    return [f"From readings imported from {survey.file}, with the uncertainties stated there."]
