"""`reedbench sheet`: the plan as a page to print, other pages about an instrument, the ledger as a site."""

from pathlib import Path

import click

from reedbench import files, sheet
from reedbench.errors import BadInput
from reedbench.hand.counting import counted_out, hand_of
from reedbench.hand.past import Chapter, past_of
from reedbench.hand.shop import shop_of
from reedbench.heard import Heard
from reedbench.ledger import Ledger
from reedbench.options import correction_options, json_option, ledger_option, state_option, survey_argument
from reedbench.output import note, progress, report
from reedbench.pages import site
from reedbench.pages.bench import survey_info
from reedbench.pages.record import record
from reedbench.pages.reeds import reeds
from reedbench.pages.reference import reference
from reedbench.pages.takes import takes
from reedbench.pairing import alone, paired
from reedbench.planning import read_and_planned
from reedbench.surveys import in_state, other_states, survey_dict
from reedbench.temperature import Correction

PAGES = ("bench", "record", "reference", "reeds", "takes")


@click.command("sheet")
@survey_argument
@state_option
@click.option(
    "--page",
    "which",
    type=click.Choice(PAGES),
    default="bench",
    show_default=True,
    help="Which page: the plan for the bench; the record for the owner; references and beats; the history of each "
    "reed; every take of the survey. Record and history go up to the SURVEY.",
)
@click.option("--out", type=click.Path(path_type=Path), help="The file to write; otherwise survey-NUMBER.html here.")
@click.option("--mirror", "mirrored", is_flag=True, help="Draw the plates as seen from below, with hole 1 right.")
@click.option(
    "--site",
    "folder",
    type=click.Path(path_type=Path),
    help="Write all pages of the whole ledger into this folder instead, as a site that needs no server.",
)
@correction_options
@ledger_option
@json_option
def command(
    survey: int | None,
    state: str | None,
    which: str,
    out: Path | None,
    folder: Path | None,
    mirrored: bool,
    correction: Correction | None,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Write the plan for the SURVEY of that number, or for the last one, as one HTML file to print.

    \b
    Example:
        reedbench sheet 12 --out tenor.html
        reedbench sheet 12 --mirror --out tenor-below.html
        reedbench sheet 12 --page record --out for-the-owner.html
        reedbench sheet --site shop
    """
    if folder is not None:
        if survey is not None or out is not None or state is not None or correction or which != "bench":
            raise BadInput("--site writes every page of the ledger as it is: leave out what asks for one")
        _site(folder.absolute(), ledger_path, as_json)
        return
    if correction and which in ("record", "reeds"):
        raise BadInput("--celsius excludes the pages record and reeds, which show readings as they were")
    with Ledger.open(ledger_path) as ledger:
        if which in ("record", "reeds"):
            taken = in_state(ledger.survey(alone(ledger, survey)), state)
            past = past_of(ledger, taken.instrument, taken.state, until=taken)
            text = reeds(past) if which == "reeds" else record(past, past.jobs[-1], shop_of(ledger))
        else:
            number = survey if which == "takes" else alone(ledger, survey)
            chapter = Chapter(*read_and_planned(ledger, number, state, correction))
            taken = chapter.survey
            if which == "bench":
                plan = counted_out(chapter.plan, hand_of(ledger))
                text = sheet.render(plan, survey_info(taken), mirrored, pairs=paired(ledger, taken, plan))
            else:
                text = reference(chapter) if which == "reference" else takes(Heard(ledger), chapter)
    if others := other_states(taken):
        note(others)
    name = f"survey-{taken.number}.html" if which == "bench" else f"survey-{taken.number}-{which}.html"
    path = (out or Path(name)).absolute()
    files.write(path, text)
    report({"survey": survey_dict(taken), "sheet": str(path)}, [f"The sheet is {path}"], as_json)


def _site(folder: Path, ledger_path: Path, as_json: bool) -> None:
    with Ledger.open(ledger_path) as ledger:
        total = len({one.instrument for one in ledger.surveys()})
        with progress("instruments", total) as step:
            made = site.write(ledger, folder, step)
    data = {
        "site": str(folder / "index.html"),
        "instruments": made.instruments,
        "pages": made.pages,
        "size_bytes": made.size_bytes,
    }
    line = f"{made.instruments} instruments on {made.pages} pages: begin with {folder / 'index.html'}"
    report(data, [line], as_json)
