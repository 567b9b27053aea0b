"""The trade's kinds of instrument, as data: which reeds there are, how people call them, what they sound.

A layout is identified by its id ("solo-12"); ledger and meter store that. Its reeds are numbered from 0,
place by place and voice by voice, and the numbers never change once the layout is published. Pitches are
MIDI note numbers of the instrument in C; octave text is only for people.
"""

from functools import cache
from importlib import resources

from reedbench.documents import parse_json
from reedbench.errors import BadInput
from reedbench.layouts.schema import Layout, Reed, layout_from_dict

__all__ = ["Layout", "Reed", "load", "names"]

_DATA = resources.files("reedbench.layouts") / "data"


@cache
def names() -> tuple[str, ...]:
    """Ids of the layouts that come with the program, small instruments first."""
    found = [entry.name.removesuffix(".json") for entry in _DATA.iterdir() if entry.name.endswith(".json")]
    return tuple(sorted(found, key=lambda name: (name.rstrip("0123456789"), len(name), name)))


@cache
def load(layout_id: str) -> Layout:
    """The layout of that id; BadInput names the known ones where there is none."""
    if layout_id not in names():
        raise BadInput(f"there is no layout {ascii(layout_id)[:40]}; known are {', '.join(names())}")
    file = f"{layout_id}.json"
    return layout_from_dict(parse_json((_DATA / file).read_bytes(), file), file)
