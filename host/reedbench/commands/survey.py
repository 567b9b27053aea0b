"""`reedbench survey`: what was surveyed, and every take of it."""

from pathlib import Path

import click

from reedbench.ledger import Ledger
from reedbench.options import json_option, ledger_option
from reedbench.output import columns, report
from reedbench.surveys import day, reed_names, survey_dict, take_dict, take_row

_TAKE_HEAD = ("reed", "take", "Hz", "±cents", "drift c/s", "dBFS", "")


@click.group("survey")
def command() -> None:
    """List and show surveys."""


@command.command("list")
@ledger_option
@json_option
def list_(ledger_path: Path, as_json: bool) -> None:
    """List the surveys in the ledger.

    \b
    Example:
        reedbench survey list
    """
    with Ledger.open(ledger_path) as ledger:
        surveys = ledger.surveys()
    rows = [("survey", "date", "instrument", "state", "takes", "")]
    for one in surveys:
        ended = "" if one.ended else "not ended"
        rows.append((str(one.number), day(one.unix_s), one.name, one.state, str(one.takes), ended))
    lines = columns(rows) if surveys else ["No surveys yet: `reedbench pull` brings them from the meter."]
    report({"surveys": [survey_dict(one) for one in surveys]}, lines, as_json)


@command.command()
@click.argument("number", type=int, required=False)
@ledger_option
@json_option
def show(number: int | None, ledger_path: Path, as_json: bool) -> None:
    """Show the survey of that NUMBER, or the last one, take by take.

    \b
    Example:
        reedbench survey show 12
    """
    with Ledger.open(ledger_path) as ledger:
        survey = ledger.survey(number)
        takes = ledger.takes(survey.number)
        names = reed_names(ledger, survey)
    data = {"survey": survey_dict(survey), "takes": [take_dict(take) for take in takes]}
    lines = [
        f"Survey {survey.number}, {day(survey.unix_s)}: {survey.name}, {survey.state}, "
        f"A = {survey.reference_hz:g} Hz, within {survey.tolerance_cents:g} cents",
        *columns([_TAKE_HEAD, *(take_row(take, names) for take in takes)]),
    ]
    report(data, lines, as_json)
