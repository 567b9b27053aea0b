"""`reedbench plan`: what to do to which reed."""

import shutil
from pathlib import Path

import click

from reedbench.ledger import Ledger
from reedbench.options import json_option, ledger_option
from reedbench.output import report
from reedbench.plan import plan_as_dict
from reedbench.planning import planned
from reedbench.surveys import survey_dict
from reedbench.terminal import plan_lines


@click.command("plan")
@click.argument("survey", type=int, required=False)
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
    lines = plan_lines(plan, shutil.get_terminal_size().columns)
    report({"survey": survey_dict(taken), **plan_as_dict(plan)}, lines, as_json)
