"""What a layout is, and the check that a layout file describes one.

A file is the table as it stands in print: one row per hole (column, key, button), one number per voice,
null where a place has no such reed. A voice is the breath and, where there is a slide, its position: "draw
in".
"""

from dataclasses import dataclass
from typing import Any

from reedbench.documents import Fields, shown
from reedbench.errors import BadInput

VERSION = 1
BREATHS = ("blow", "draw", "push", "pull")
SLIDES = ("out", "in")
PLACES_MAX = 240  # with two voices, the 480 reeds a meter takes


@dataclass(frozen=True)
class Reed:
    """One tongue of a layout."""

    ordinal: int  # its number in the layout, from 0
    place: str  # what people call where it is sounded: "3"
    hole: int  # that place counted from the low end, from 1
    breath: str  # one of BREATHS
    slide: str  # "out", "in", or "" on an instrument without a slide
    midi: int  # pitch on an instrument in C


@dataclass(frozen=True)
class Layout:
    """A kind of instrument."""

    id: str
    title: str
    source: str  # where the table was published, in words
    unconfirmed: bool  # written down from memory: to be checked on the instrument
    holes: int
    reeds: tuple[Reed, ...]
    last_hole: tuple[tuple[str, int], ...]  # choices for the last reed, the usual one first: ("D", 98); or none

    @property
    def has_slide(self) -> bool:
        return self.reeds[0].slide != ""


def layout_from_dict(values: Any, where: str) -> Layout:
    """The layout described by `values`, a parsed layout file; BadInput, naming `where`, for anything else."""
    fields = Fields(values, where)
    fields.kind("layout", VERSION)
    layout_id = fields.text("id", 32)
    title = fields.text("title", 80)
    source = fields.text("source", 200)
    unconfirmed = fields.flag("unconfirmed")
    voices = _voices(fields)
    rows = fields.take("reeds")
    if not isinstance(rows, list) or not 0 < len(rows) <= PLACES_MAX:
        fields.refuse("reeds", f"a list of 1 to {PLACES_MAX} rows")
    reeds: list[Reed] = []
    for hole, row in enumerate(rows, start=1):
        place, notes = _row(row, len(voices), f"{where}: row {hole} of reeds")
        if place in {reed.place for reed in reeds}:
            raise BadInput(f"{where}: row {hole} of reeds is {shown(place)} again; each place has one row")
        for (breath, slide), midi in zip(voices, notes, strict=True):
            if midi is not None:
                reeds.append(Reed(len(reeds), place, hole, breath, slide, midi))
    last_hole = _last_hole(fields, reeds)
    fields.done()
    return Layout(layout_id, title, source, unconfirmed, len(rows), tuple(reeds), last_hole)


def _voices(fields: Fields) -> list[tuple[str, str]]:
    allowed = 'a list of different voices, such as ["blow", "draw"] or ["blow out", "blow in"]'
    words = fields.take("voices")
    if not isinstance(words, list) or not words or not all(isinstance(word, str) for word in words):
        fields.refuse("voices", allowed)
    voices = [(breath, slide) for breath, _, slide in (word.partition(" ") for word in words)]
    sound = all(breath in BREATHS and slide in ("", *SLIDES) for breath, slide in voices)
    if not sound or len(set(voices)) < len(voices) or len({slide == "" for _, slide in voices}) > 1:
        fields.refuse("voices", allowed)
    return voices


def _row(row: Any, voices: int, where: str) -> tuple[str, list[int | None]]:
    if not isinstance(row, list) or len(row) != 1 + voices:
        raise BadInput(f"{where} must be a list of the place and {voices} notes")
    place, *notes = row
    if not isinstance(place, str) or not 0 < len(place.encode()) <= 8 or not place.isprintable():
        raise BadInput(f"{where}: the place is {shown(place)}; it must be a text of at most 8 bytes")
    for midi in notes:
        if midi is not None and not _is_midi(midi):
            raise BadInput(f"{where}: {shown(midi)} must be a MIDI note number from 12 to 120, or null for no reed")
    if all(midi is None for midi in notes):
        raise BadInput(f"{where} has no reed")
    return place, notes


def _last_hole(fields: Fields, reeds: list[Reed]) -> tuple[tuple[str, int], ...]:
    choices = fields.take("last_hole", {})
    allowed = "an object of note names and MIDI note numbers, the first of them the one in the table"
    if not isinstance(choices, dict) or not all(_is_midi(midi) for midi in choices.values()):
        fields.refuse("last_hole", allowed)
    if choices and next(iter(choices.values())) != reeds[-1].midi:
        fields.refuse("last_hole", allowed)
    return tuple(choices.items())


def _is_midi(value: Any) -> bool:
    return isinstance(value, int) and not isinstance(value, bool) and 12 <= value <= 120
