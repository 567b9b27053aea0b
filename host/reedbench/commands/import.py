"""`reedbench import`: readings from paper or from another program, as a survey of the ledger."""

import os
from pathlib import Path

import click

from reedbench.errors import BadInput
from reedbench.firmware.wire.record import STATES, WINDS
from reedbench.importing import PASSES, U95_CENTS, Sheet, read_sheet, readings_from, unix_day
from reedbench.instrument import Instrument
from reedbench.ledger import Imported, Ledger, StoredSurvey
from reedbench.options import json_option, ledger_option
from reedbench.output import note, report
from reedbench.surveys import instrument_kept, state_known, survey_dict


@click.command("import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--instrument",
    metavar="INSTRUMENT",
    help="What the readings are of: an instrument's file, or the key of one that the ledger has; otherwise what "
    "the column instrument says.",
)
@click.option(
    "--u95-cents",
    type=click.FloatRange(*U95_CENTS),
    help="How far off a reading may be, 19 times out of 20, where the column u95_cents says nothing.",
)
@click.option("--date", metavar="YEAR-MONTH-DAY", help="When it was measured; otherwise what the column date says.")
@click.option(
    "--state",
    metavar="STATE",
    help=f"How it was sounded: {', '.join(STATES)}, with or without a comma and {', '.join(WINDS)}; otherwise what "
    "the column state says, otherwise assembled.",
)
@click.option(
    "--pass",
    "pass_number",
    type=click.IntRange(*PASSES),
    help="The pass of the work that it follows; otherwise what the column pass says, otherwise 0.",
)
@ledger_option
@json_option
def command(
    file: Path,
    instrument: str | None,
    u95_cents: float | None,
    date: str | None,
    state: str | None,
    pass_number: int | None,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Bring the readings in FILE, a table in CSV, into the ledger as a survey of its own.

    A line is a reed: place, breath, slide, and cents from its target or hz. docs/exchange.md explains every column.
    The survey is marked as imported, and its readings keep the uncertainty that you state. The same readings come
    into the ledger once, however often the file is imported.

    \b
    Example:
        reedbench import paper.csv --instrument tenor.json --u95-cents 2 --date 2024-03-18
    """
    sheet = read_sheet(file)
    state = state_known(state or sheet.common("state"))
    unix_s = unix_day(date or sheet.common("date"))
    passed = pass_number if pass_number is not None else _pass(sheet)
    with Ledger.open(ledger_path, write=True) as ledger:
        wanted = _instrument(ledger, instrument or sheet.common("instrument"))
        readings = readings_from(sheet, wanted, u95_cents)
        ledger.keep_instrument(wanted.key_id, wanted.name, wanted.layout.id, wanted.to_dict())
        imported = Imported(
            instrument=wanted.key_id,
            name=wanted.name,
            layout=wanted.layout.id,
            reeds=len(wanted.reeds),
            state=state,
            pass_number=passed,
            reference_hz=wanted.order.reference_hz,
            tolerance_cents=wanted.order.tolerance_cents,
            unix_s=unix_s,
            file=file.name,
            raw=sheet.raw,
            readings=readings,
        )
        number, new = ledger.keep_import(imported)
        survey = ledger.survey(number)
    if sheet.unused:
        note(f"{sheet.where}: nothing was made of the columns {', '.join(sheet.unused)}")
    report({"survey": survey_dict(survey), "new": new}, [_line(survey, new)], as_json)


def _instrument(ledger: Ledger, wanted: str) -> Instrument:
    """The instrument in that file, or that the ledger has under that key."""
    if not wanted:
        raise BadInput("whose readings are these? Name the instrument's file or key with --instrument")
    if os.path.exists(wanted):
        return Instrument.read(wanted)
    return instrument_kept(ledger, wanted)


def _pass(sheet: Sheet) -> int:
    for line in sheet.lines:
        line.figure("pass", *PASSES)
    return int(float(sheet.common("pass") or 0))


def _line(survey: StoredSurvey, new: bool) -> str:
    if not new:
        return f"The ledger has these readings already, as survey {survey.number}."
    return f"Survey {survey.number}: {survey.name}, {survey.readings} of {survey.reeds} reeds, imported."
