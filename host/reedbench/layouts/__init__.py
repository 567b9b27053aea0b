"""The trade's kinds of instrument, as data: which reeds there are, how people call them, what they sound.

A layout is identified by its id ("solo-12"); ledger and meter store that. Its reeds are numbered from 0,
place by place, bank by bank and voice by voice, and the numbers never change once the layout is published.
Pitches are MIDI note numbers of the instrument in C; octave text is only for people.
"""

import re
from functools import cache
from importlib import resources
from os import PathLike
from typing import Any

from reedbench.documents import parse_json, read_json, shown
from reedbench.errors import BadInput
from reedbench.layouts.layout import Layout, Reed
from reedbench.layouts.schema import layout_from_dict
from reedbench.output import clean

__all__ = ["Layout", "Reed", "families", "load", "named", "names", "own", "read"]

_DATA = resources.files("reedbench.layouts") / "data"


@cache
def names() -> tuple[str, ...]:
    """Ids of the layouts that come with the program, by kind, small instruments first."""
    found = [entry.name.removesuffix(".json") for entry in _DATA.iterdir() if entry.name.endswith(".json")]
    return tuple(sorted(found, key=lambda name: [part.zfill(4) for part in re.split(r"(\d+)", name)]))


@cache
def load(layout_id: str) -> Layout:
    """The layout of that id that comes with the program; BadInput where there is none."""
    if layout_id not in names():
        raise BadInput(f"there is no layout {ascii(layout_id)[:40]}: `reedbench layout list` has those there are")
    file = f"{layout_id}.json"
    return layout_from_dict(parse_json((_DATA / file).read_bytes(), file), file)


def families() -> dict[str, list[Layout]]:
    """The layouts that come with the program, by what kind of instrument they are of."""
    found: dict[str, list[Layout]] = {}
    for layout in map(load, names()):
        found.setdefault(layout.family, []).append(layout)
    return dict(sorted(found.items()))


def named(name: str) -> Layout:
    """The layout that an instrument names: one that comes with the program, or a file of one's own where one works."""
    return read(name) if name.endswith(".json") else load(name)


def read(path: str | PathLike[str]) -> Layout:
    """The layout in a file of one's own; BadInput for anything else."""
    return own(read_json(path), clean(str(path)))


def own(values: Any, where: str) -> Layout:
    """One's own layout from a parsed file; its id must not be one that comes with the program."""
    layout = layout_from_dict(values, where)
    if layout.id in names():
        raise BadInput(f"{where}: a layout called {shown(layout.id)} comes with the program: give yours another id")
    return layout
