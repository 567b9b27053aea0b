"""`reedbench plan`: what to do to which reed."""

import shutil
from pathlib import Path

import click

from reedbench.ledger import Ledger, StoredSurvey
from reedbench.options import json_option, ledger_option, state_option, survey_argument
from reedbench.output import note, report
from reedbench.plan import plan_as_dict
from reedbench.planning import planned
from reedbench.surveys import day, other_states, survey_dict
from reedbench.terminal import plan_lines


@click.command("plan")
@survey_argument
@state_option
@ledger_option
@json_option
def command(survey: int | None, state: str | None, ledger_path: Path, as_json: bool) -> None:
    """Plan the work that follows from the SURVEY of that number, or from the last one.

    A plan follows from one state of sounding: a reed reads differently with the covers off.

    \b
    Example:
        reedbench plan 12
        reedbench plan 12 --state "covers off"
    """
    with Ledger.open(ledger_path) as ledger:
        taken, plan = planned(ledger, survey, state)
    if others := other_states(taken):
        note(others)
    lines = [*_origin(taken), *plan_lines(plan, shutil.get_terminal_size().columns)]
    report({"survey": survey_dict(taken), **plan_as_dict(plan)}, lines, as_json)


def _origin(survey: StoredSurvey) -> list[str]:
    """Which survey, and how it was sounded; says of an imported one where its uncertainties come from."""
    head = f"Survey {survey.number}, {day(survey.unix_s)}: {survey.state}."
    if survey.file is None:
        return [head]
    return [head, f"From readings imported from {survey.file}, with the uncertainties stated there."]
