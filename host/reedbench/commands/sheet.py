"""`reedbench sheet`: the plan as a page to print."""

from pathlib import Path

import click

from reedbench import files, sheet
from reedbench.hand.counting import counted_out, hand_of
from reedbench.ledger import Ledger
from reedbench.options import correction_options, json_option, ledger_option, state_option, survey_argument
from reedbench.output import note, report
from reedbench.planning import planned, survey_info
from reedbench.surveys import other_states, survey_dict
from reedbench.temperature import Correction


@click.command("sheet")
@survey_argument
@state_option
@click.option("--out", type=click.Path(path_type=Path), help="The file to write; otherwise survey-NUMBER.html here.")
@correction_options
@ledger_option
@json_option
def command(
    survey: int | None,
    state: str | None,
    out: Path | None,
    correction: Correction | None,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Write the plan for the SURVEY of that number, or for the last one, as one HTML file to print.

    \b
    Example:
        reedbench sheet 12 --out tenor.html
    """
    with Ledger.open(ledger_path) as ledger:
        taken, plan = planned(ledger, survey, state, correction)
        plan = counted_out(plan, hand_of(ledger))
    if others := other_states(taken):
        note(others)
    path = (out or Path(f"survey-{taken.number}.html")).absolute()
    files.write(path, sheet.render(plan, survey_info(taken)))
    report({"survey": survey_dict(taken), "sheet": str(path)}, [f"The sheet is {path}"], as_json)
