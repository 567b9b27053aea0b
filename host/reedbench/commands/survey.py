"""`reedbench survey`: what was surveyed, and every take of it."""

import shutil
from pathlib import Path

import click

from reedbench.hand.counting import COLUMNS, SCHEMA, strokes_from
from reedbench.importing import read_sheet
from reedbench.ledger import Ledger
from reedbench.loudness import slope_as_dict, slopes
from reedbench.options import LARGEST, json_option, ledger_option, sure, yes_option
from reedbench.output import note, report
from reedbench.planning import planned
from reedbench.reading import control
from reedbench.resolved import resolved_takes
from reedbench.survey_lines import listed, shown, slope_lines, two_lines
from reedbench.surveys import (
    control_dict,
    control_line,
    day,
    imported_dict,
    instrument_of,
    reed_names,
    survey_dict,
    take_dict,
    takes_in,
)
from reedbench.two import resolved_dict


@click.group("survey")
def command() -> None:
    """List, show and remove surveys, and keep the strokes that were counted after one."""


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
        surveys = ledger.surveys(key)
    lines = listed(surveys, shutil.get_terminal_size().columns)
    none = "No surveys yet: `reedbench pull` brings them from the meter." if key is None else "No surveys of it yet."
    report({"surveys": [survey_dict(one) for one in surveys]}, lines if surveys else [none], as_json)


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
        moved = control(instrument_of(ledger, survey), takes_in(takes, survey.state)) if names and takes else None
        traces = ledger.traces(survey.number)
        by_state = {state: slopes(takes_in(takes, state), traces) for state in survey.states}
        resolved = resolved_takes(ledger, survey)
    two = {number: resolved_dict(one, survey.reference_hz) for number, one in resolved.items()}
    found = [
        {"state": state, "ordinal": ordinal, **slope_as_dict(slope)}
        for state, by_reed in by_state.items()
        for ordinal, slope in by_reed.items()
    ]
    data = {
        "survey": survey_dict(survey),
        "takes": [take_dict(take, two.get(take.sequence)) for take in takes],
        "imported": [imported_dict(one) for one in imported],
        "control": control_dict(moved) if moved else None,
        "slopes": found,
    }
    lines = [*shown(survey, takes, imported, names), *two_lines(takes, two, names), *slope_lines(by_state, names)]
    if moved:
        lines.append(control_line(moved, names[moved.ordinal]))
    report(data, lines, as_json)


@command.command()
@click.argument("number", type=click.IntRange(1, LARGEST))
@click.argument("file", type=click.Path(path_type=Path))
@ledger_option
@json_option
def strokes(number: int, file: Path, ledger_path: Path, as_json: bool) -> None:
    """Keep how many strokes reeds got in the pass that followed the survey of that NUMBER, from a table in CSV.

    A line of FILE is a reed: place, breath, slide and so on as docs/exchange.md has them, strokes, and in the column
    action raise or lower; where that is empty, what the plan had. From counts and the survey after them the plan learns
    how far a stroke of this shop goes. A count that comes again takes the place of the earlier one.

    \b
    Example:
        reedbench survey strokes 12 counted.csv
    """
    sheet = read_sheet(file, must=("strokes",), schema=SCHEMA, more=COLUMNS)
    with Ledger.open(ledger_path, write=True) as ledger:
        survey, plan = planned(ledger, number)
        counted = strokes_from(sheet, plan)
        ledger.keep_strokes(survey.number, counted)
    if sheet.unused:
        note(f"{sheet.where}: nothing was made of the columns {', '.join(sheet.unused)}")
    data = {"survey": survey_dict(survey), "reeds": len(counted), "strokes": sum(counted.values())}
    line = f"Survey {survey.number}: {data['strokes']} strokes on {len(counted)} reeds in the pass after it."
    report(data, [line], as_json)


@command.command()
@click.argument("number", type=click.IntRange(1, LARGEST))
@click.option("--undo", is_flag=True, help="Bring back a survey that was removed.")
@yes_option
@ledger_option
@json_option
def remove(number: int, undo: bool, yes: bool, ledger_path: Path, as_json: bool) -> None:
    """Remove the survey of that NUMBER: no list, plan or sheet has it any more.

    Its takes stay in the ledger, out of sight, so that no pull brings them again; --undo brings it back.

    \b
    Example:
        reedbench survey remove 12
        reedbench survey remove 12 --undo
    """
    with Ledger.open(ledger_path, write=True) as ledger:
        if undo:
            ledger.bring_back_survey(number)
        survey = ledger.survey(number)
        what = f"survey {number} of {day(survey)}, {survey.name}, {survey.takes or survey.readings} " + (
            "takes" if survey.file is None else "readings"
        )
        if not undo:
            sure(f"Remove {what}?", yes)
            ledger.remove_survey(number)
    done = f"{what[0].upper()}{what[1:]}, is {'back' if undo else 'removed'}."
    report({"survey": survey_dict(survey), "removed": not undo}, [done], as_json)
