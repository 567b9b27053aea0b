"""`reedbench instrument`: the instruments that the ledger knows."""

import os
import sys
import textwrap
from collections import Counter
from collections.abc import Callable, Iterator
from itertools import groupby
from pathlib import Path
from typing import Any

import click

from reedbench import files
from reedbench.errors import BadInput, Failed
from reedbench.instrument import PLATES, SLIDES, Instrument, InstrumentReed
from reedbench.instrument_file import changed, edited, example_document, text_of
from reedbench.ledger import Ledger
from reedbench.options import json_option, ledger_option
from reedbench.output import clean, columns, note, report
from reedbench.questions import Description
from reedbench.surveys import instrument_kept
from reedbench.tuning.temperaments import TEMPERAMENTS


@click.group("instrument")
def command() -> None:
    """Describe, add, list, show, edit and remove instruments."""


set_option = click.option(
    "--set",
    "changes",
    multiple=True,
    metavar="FIELD=VALUE",
    help="Give a field of the instrument's file a value; may be said several times.",
)


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--name", help="What the shop calls it.")
@click.option("--layout", help="Kind of instrument, such as solo-12, or the file of a layout of your own.")
@click.option("--key", help="Its key, such as C, Bb, or low D.")
@click.option("--last-hole", help="Note of the last reed where the layout leaves a choice.")
@click.option("--slide", help=f"How the slide works: {' or '.join(SLIDES)}.")
@click.option("--first-plate", help=f"Plate that hole 1 sounds with the slide out: {' or '.join(PLATES)}.")
@click.option("--reference-hz", help="Reference A in hertz.")
@click.option("--temperament", help=f"Temperament: {', '.join(TEMPERAMENTS)}.")
@click.option("--tonic", help="Note that the temperament starts from; otherwise the key.")
@click.option("--tolerance-cents", help="How far off is still good.")
@click.option("--drop-cents", help="How much lower it sounds in play than on the bench.")
@set_option
@click.option("--example", is_flag=True, help="The demo's instrument, to try things out with; nothing is asked.")
@click.option("--force", is_flag=True, help="Replace FILE where there is one.")
@json_option
def new(file: Path, changes: tuple[str, ...], example: bool, force: bool, as_json: bool, **options: str | None) -> None:
    """Describe an instrument in a new FILE; what is not said is asked, if there is a terminal to ask on.

    The key by which the ledger will know it is made up. Look at the result with `reedbench instrument show FILE`.

    \b
    Example:
        reedbench instrument new tenor.json
        reedbench instrument new tenor.json --name "the tenor" --layout solo-12 --key C --reference-hz 442
        reedbench instrument new river-boat.json --example
    """
    if os.path.lexists(file) and not force:
        raise BadInput(f"{file} is there already: choose another name, or --force to replace it")
    said = {name: value for name, value in options.items() if value is not None}
    asking = sys.stdin.isatty() and sys.stderr.isatty() and not as_json
    document = example_document() if example else Description(said, _ask if asking else None).fill()
    instrument = changed(document, changes, "new instrument")
    files.write(file.absolute(), text_of(instrument))
    lines = [f"{instrument.name}, {len(instrument.reeds)} reeds, is described in {file}."]
    report(_as_dict(instrument), lines, as_json)


def _ask(question: str, usual: str | None, check: Callable[[str], None]) -> str:
    """An answer from the terminal that passes the check."""
    while True:
        asked = "\n".join(map(clean, question.splitlines()))
        answer = str(click.prompt(asked, default=usual, err=True))
        try:
            check(answer)
            return answer
        except BadInput as error:
            note(str(error))


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@ledger_option
@json_option
def add(file: Path, ledger_path: Path, as_json: bool) -> None:
    """Add the instrument described in FILE, or replace what the ledger has under its key.

    \b
    Example:
        reedbench instrument add tenor.json
    """
    instrument = Instrument.read(file)
    with Ledger.open(ledger_path, write=True) as ledger:
        ledger.keep_instrument(instrument.key_id, instrument.name, instrument.layout.id, instrument.to_dict())
    data = _as_dict(instrument)
    report(data, [f"{instrument.name} is in the ledger under the key {instrument.key_id}."], as_json)


@command.command("list")
@ledger_option
@json_option
def list_(ledger_path: Path, as_json: bool) -> None:
    """List the instruments.

    \b
    Example:
        reedbench instrument list
    """
    with Ledger.open(ledger_path) as ledger:
        stored = ledger.instruments()
        count = Counter(survey.instrument for survey in ledger.surveys())
    data = {
        "instruments": [
            {"key": one.key, "name": one.name, "layout": one.layout, "surveys": count[one.key]} for one in stored
        ]
    }
    rows = [
        ("key", "name", "layout", "surveys"),
        *((one.key, one.name, one.layout, str(count[one.key])) for one in stored),
    ]
    report(data, columns(rows) if stored else ["No instruments yet: `reedbench instrument add FILE`."], as_json)


@command.command()
@click.argument("instrument")
@ledger_option
@json_option
def show(instrument: str, ledger_path: Path, as_json: bool) -> None:
    """Show INSTRUMENT, a file or the key of one in the ledger, plate by plate, with the targets of its reeds.

    \b
    Example:
        reedbench instrument show tenor.json
        reedbench instrument show 6f1c0a9be2d43875
    """
    wanted = _look_up(instrument, ledger_path)
    report(_as_dict(wanted), _lines(wanted), as_json)


@command.command()
@click.argument("instrument")
@set_option
@ledger_option
@json_option
def edit(instrument: str, changes: tuple[str, ...], ledger_path: Path, as_json: bool) -> None:
    """Change INSTRUMENT, a file or the key of one in the ledger; without --set in the editor of your system.

    What would not be a sound instrument is refused, and the old one stays. A file is changed, and not the ledger:
    `reedbench instrument add` brings it there again.

    \b
    Example:
        reedbench instrument edit tenor.json --set reference_hz=442 --set tolerance_cents=1.5
        reedbench instrument edit 6f1c0a9be2d43875
    """
    before = _look_up(instrument, ledger_path)
    after = changed(before.to_dict(), changes, instrument) if changes else _in_editor(before, instrument)
    if os.path.exists(instrument):
        files.write(Path(instrument).absolute(), text_of(after))
    else:
        with Ledger.open(ledger_path, write=True) as ledger:
            ledger.keep_instrument(after.key_id, after.name, after.layout.id, after.to_dict())
    report(_as_dict(after), [f"{after.name} is changed."], as_json)


def _in_editor(before: Instrument, where: str) -> Instrument:
    """What the user makes of it in the editor; asked again as long as it is not sound and they want to go on."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput("say what to change with --set FIELD=VALUE: there is no terminal for an editor")
    text = text_of(before)
    while True:
        try:
            text = click.edit(text, extension=".json") or text
        except click.ClickException as error:
            raise Failed(f"the editor did not work ({error.format_message()}): set EDITOR, or use --set") from error
        try:
            return edited(text, before, where)
        except BadInput as error:
            note(str(error))
            if not click.confirm("Edit it again?", default=True, err=True):
                raise


@command.command()
@click.argument("key")
@ledger_option
@json_option
def remove(key: str, ledger_path: Path, as_json: bool) -> None:
    """Remove the instrument of that KEY from the ledger; one that has surveys stays.

    \b
    Example:
        reedbench instrument remove 6f1c0a9be2d43875
    """
    with Ledger.open(ledger_path) as ledger:
        name = ledger.instrument(key).name
    with Ledger.open(ledger_path, write=True) as ledger:
        ledger.remove_instrument(key)
    report({"key": key, "name": name}, [f"{name} is no longer in the ledger."], as_json)


def _look_up(instrument: str, ledger_path: Path) -> Instrument:
    """The instrument in that file, or that the ledger has under that key."""
    if os.path.exists(instrument):
        return Instrument.read(instrument)
    with Ledger.open(ledger_path) as ledger:
        return instrument_kept(ledger, instrument)


def _sounded(instrument: Instrument) -> list[InstrumentReed]:
    """The reeds in the order of a survey."""
    return [instrument.reeds[ordinal] for ordinal in instrument.sounding_order()]


def _lines(instrument: Instrument) -> Iterator[str]:
    yield instrument.name
    yield from textwrap.wrap(clean(instrument.about), 80, subsequent_indent="  ")
    beats = instrument.layout.has_pairs
    heads = ("reed", "plate", "face", "note", "target Hz", *(("beats/s",) if beats else ()))
    cells = [_cells(instrument, reed, beats) for reed in _sounded(instrument)]
    rows = columns([heads, *cells])
    yield rows[0]
    for plate, group in groupby(zip(_sounded(instrument), rows[1:], strict=True), lambda pair: pair[0].plate):
        reeds = [row for _, row in group]
        yield f"{instrument.layout.plate_name(plate)}, {len(reeds)} reeds"
        yield from reeds


def _cells(instrument: Instrument, reed: InstrumentReed, beats: bool) -> tuple[str, ...]:
    told = (reed.label, reed.plate, reed.face, reed.note, f"{reed.target_hz:.2f}")
    if not beats:
        return told
    beat = instrument.target_beat_hz(reed)
    return (*told, "-" if beat is None else f"{beat:.2f}")


def _as_dict(instrument: Instrument) -> dict[str, Any]:
    """The instrument's own description, and its reeds in the order of a survey."""
    return {"instrument": instrument.to_dict(), "reeds": instrument.targets_table()}
