"""`reedbench export`: a survey as CSV, for spreadsheets and other programs."""

import os
from pathlib import Path

import click

from reedbench import files
from reedbench.errors import BadInput, Failed
from reedbench.exchange import Table
from reedbench.exporting import TABLES, plan_table, readings_table, takes_table
from reedbench.history import surveyed
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.options import json_option, ledger_option, state_option, survey_argument
from reedbench.output import note, pass_on, report
from reedbench.planning import planned
from reedbench.surveys import in_state, instrument_of, other_states, survey_dict

ALL = "all"
STANDARD_OUTPUT = "-"


@click.command("export")
@click.argument("what", type=click.Choice([*TABLES, ALL]))
@survey_argument
@state_option
@click.option(
    "--out",
    metavar="PATH",
    help="The file to write, or for all the folder; otherwise survey-NUMBER-takes.csv and so on here. A minus sign "
    "stands for standard output.",
)
@click.option("--force", is_flag=True, help="Replace files that are there already.")
@ledger_option
@json_option
def command(
    what: str,
    survey: int | None,
    state: str | None,
    out: str | None,
    force: bool,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Write the takes, the readings or the plan of the SURVEY of that number, or of the last one, as CSV.

    WHAT is takes, readings, plan, or all for a file of each. Takes are those of all states of sounding, the others
    stand on those of one. The columns are explained in docs/exchange.md. What
    `reedbench export readings` writes, `reedbench import` reads.

    \b
    Example:
        reedbench export readings 12 --out tenor.csv
        reedbench export all 12 --out tenor
    """
    if out == STANDARD_OUTPUT and (as_json or what == ALL):
        raise BadInput("only one table can go to standard output, and then no JSON: name a file with --out")
    with Ledger.open(ledger_path) as ledger:
        wanted = in_state(ledger.survey(survey), state)
        names = _names(what, wanted)
        tables = {name: _table(name, ledger, wanted) for name in names}
    if what != "takes" and (others := other_states(wanted)):
        note(others)
    if out == STANDARD_OUTPUT:
        pass_on(tables[what].csv())
        return
    paths = _paths(names, wanted, what, out)
    for path in paths.values():
        if os.path.lexists(path) and not force:
            raise BadInput(f"{path} is there already: choose another name with --out, or --force to replace it")
    for name, path in paths.items():
        files.write(path, tables[name].csv())
    written = [
        {"table": name, "schema": tables[name].schema, "file": str(path), "rows": len(tables[name].rows)}
        for name, path in paths.items()
    ]
    lines = [f"{name}: {len(tables[name].rows)} lines in {path}" for name, path in paths.items()]
    report({"survey": survey_dict(wanted), "files": written}, lines, as_json)


def _names(what: str, survey: StoredSurvey) -> list[str]:
    """The tables to write; an imported survey has no takes."""
    if survey.file is not None and what == "takes":
        raise BadInput(f"survey {survey.number} was imported: it has readings and no takes")
    return [name for name in TABLES if what == name or (what == ALL and (name != "takes" or survey.file is None))]


def _table(name: str, ledger: Ledger, survey: StoredSurvey) -> Table:
    if name == "plan":
        return plan_table(*planned(ledger, survey.number, survey.state))
    if name == "readings":
        instrument = instrument_of(ledger, survey)
        remarks = {one.ordinal: one.remark for one in ledger.imported(survey.number)}
        return readings_table(survey, instrument, surveyed(ledger, survey).readings, remarks)
    known = survey.instrument in (one.key for one in ledger.instruments())
    return takes_table(survey, ledger.takes(survey.number), instrument_of(ledger, survey) if known else None)


def _paths(names: list[str], survey: StoredSurvey, what: str, out: str | None) -> dict[str, Path]:
    """Where each table goes."""
    if what != ALL:
        return {what: Path(out or f"survey-{survey.number}-{what}.csv").absolute()}
    folder = Path(out or f"survey-{survey.number}").absolute()
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"{folder} cannot be made: {error.strerror}") from error
    return {name: folder / f"{name}.csv" for name in names}
