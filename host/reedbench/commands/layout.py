"""`reedbench layout`: the kinds of instrument, and files of one's own."""

import os
import shutil
import textwrap
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

from reedbench import layouts
from reedbench.layouts import Layout
from reedbench.layouts.table import FROM_MEMORY, about, notes, seats
from reedbench.options import json_option
from reedbench.output import clean, columns, report


@click.group("layout")
def command() -> None:
    """List and show kinds of instrument, and check a layout of your own."""


@command.command("list")
@json_option
def list_(as_json: bool) -> None:
    """List the layouts that come with the program.

    \b
    Example:
        reedbench layout list
    """
    known = [layouts.load(name) for name in layouts.names()]
    data = {
        "layouts": [
            {
                "id": one.id,
                "title": one.title,
                "places": one.holes,
                "reeds": len(one.reeds),
                "source": one.source,
                "unconfirmed": one.unconfirmed,
            }
            for one in known
        ]
    }
    report(data, _listed(), as_json)


def _listed() -> Iterator[str]:
    kinds = layouts.families()
    rows = columns(
        [
            ("  layout", "reeds", ""),
            *(
                (f"  {one.id}{' *' if one.unconfirmed else ''}", str(len(one.reeds)), one.variety)
                for members in kinds.values()
                for one in members
            ),
        ]
    )
    yield rows.pop(0)
    for kind, members in kinds.items():
        yield kind
        yield from (rows.pop(0) for _ in members)
    yield f"* {FROM_MEMORY}"


@command.command()
@click.argument("layout")
@json_option
def show(layout: str, as_json: bool) -> None:
    """Show LAYOUT, one that comes with the program or a file: its notes, and where its reeds sit.

    With --json it is printed as the file that it is, a start for one of your own.

    \b
    Example:
        reedbench layout show solo-12
        reedbench layout show tremolo-24 --json > my-tremolo.json
    """
    wanted = layouts.read(layout) if os.path.exists(layout) else layouts.load(layout)
    report(wanted.document, _lines(wanted), as_json)


def _lines(layout: Layout) -> Iterator[str]:
    yield from _wrapped(about(layout))
    yield ""
    yield from columns(notes(layout))
    yield ""
    yield from _wrapped(seats(layout))


def _wrapped(lines: Iterable[str]) -> Iterator[str]:
    for line in lines:
        yield from textwrap.wrap(clean(line), shutil.get_terminal_size().columns, subsequent_indent="  ")


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@json_option
def check(file: Path, as_json: bool) -> None:
    """Check FILE, a layout of your own, and say what was read in it.

    \b
    Example:
        reedbench layout check my-tremolo.json
    """
    layout = layouts.read(file)
    pitches = [reed.midi for reed in layout.reeds]
    data = {
        "id": layout.id,
        "title": layout.title,
        "places": layout.holes,
        "reeds": len(layout.reeds),
        "lowest_midi": min(pitches),
        "highest_midi": max(pitches),
        "plates": list(layout.plates),
        "unconfirmed": layout.unconfirmed,
    }
    sound = f'{file} is sound: an instrument beside it names it as "layout": "{file.name}".'
    report(data, [*_wrapped([*about(layout), *seats(layout)]), sound], as_json)
