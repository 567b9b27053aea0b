"""`reedbench survey`: what was surveyed, and every take of it."""

from collections.abc import Iterator
from pathlib import Path

import click

from reedbench.ledger import ImportedReading, Ledger, StoredSurvey, StoredTake
from reedbench.options import LARGEST, json_option, ledger_option
from reedbench.output import columns, report
from reedbench.reading import control
from reedbench.surveys import (
    control_dict,
    control_line,
    day,
    imported_dict,
    imported_row,
    instrument_of,
    reed_names,
    survey_dict,
    take_dict,
    take_row,
    takes_of,
)

_TAKE_HEAD = ("reed", "state", "take", "Hz", "±cents", "drift c/s", "dBFS", "")
_READING_HEAD = ("reed", "Hz", "±cents", "remark")


@click.group("survey")
def command() -> None:
    """List and show surveys."""


@command.command("list")
@click.option("--instrument", "key", metavar="KEY", help="Only those of the instrument of that key.")
@ledger_option
@json_option
def list_(key: str | None, ledger_path: Path, as_json: bool) -> None:
    """List the surveys in the ledger.

    \b
    Example:
        reedbench survey list --instrument 6f1c0a9be2d43875
    """
    with Ledger.open(ledger_path) as ledger:
        surveys = [one for one in ledger.surveys() if key in (None, one.instrument)]
    rows = [("survey", "date", "instrument", "state", "takes", "")]
    for one in surveys:
        remark = "" if one.ended else "not ended"
        if one.file is not None:
            remark = f"{one.readings} readings imported from {one.file}"
        rows.append((str(one.number), day(one), one.name, "; ".join(one.states), str(one.takes), remark))
    none = "No surveys yet: `reedbench pull` brings them from the meter." if key is None else "No surveys of it yet."
    report({"surveys": [survey_dict(one) for one in surveys]}, columns(rows) if surveys else [none], as_json)


@command.command()
@click.argument("number", type=click.IntRange(1, LARGEST), required=False)
@ledger_option
@json_option
def show(number: int | None, ledger_path: Path, as_json: bool) -> None:
    """Show the survey of that NUMBER, or the last one, take by take; of an imported one, the readings.

    \b
    Example:
        reedbench survey show 12
    """
    with Ledger.open(ledger_path) as ledger:
        survey = ledger.survey(number)
        takes = ledger.takes(survey.number)
        imported = ledger.imported(survey.number)
        names = reed_names(ledger, survey)
        moved = control(instrument_of(ledger, survey), takes_of(ledger, survey)) if names and takes else None
    data = {
        "survey": survey_dict(survey),
        "takes": [take_dict(take) for take in takes],
        "imported": [imported_dict(one) for one in imported],
        "control": control_dict(moved) if moved else None,
    }
    lines = [*_lines(survey, takes, imported, names), *([control_line(moved, names[moved.ordinal])] if moved else [])]
    report(data, lines, as_json)


def _lines(
    survey: StoredSurvey, takes: list[StoredTake], imported: list[ImportedReading], names: dict[int, str]
) -> Iterator[str]:
    yield (
        f"Survey {survey.number}, {day(survey)}: {survey.name}, {'; '.join(survey.states)}, "
        f"A = {survey.reference_hz:g} Hz, within {survey.tolerance_cents:g} cents"
    )
    if survey.file is not None:
        yield f"Imported from {survey.file}; the uncertainties are as they were stated."
        yield from columns([_READING_HEAD, *(imported_row(one, names) for one in imported)])
    else:
        yield from columns([_TAKE_HEAD, *(take_row(take, names) for take in takes)])
