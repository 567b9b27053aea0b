"""One physical instrument: its layout, key, slide construction, and the tuning its owner ordered.

An instrument is one small JSON file:

    {"reedbench": "instrument", "version": 1, "key_id": "6f1c0a9be2d43875", "name": "the tenor",
     "layout": "solo-12", "key": "low C", "slide": "cross", "first_plate": "upper", "last_hole": "D",
     "order": {"reference_hz": 442.0, "temperament": "equal", "drop_cents": 1.5, "tolerance_cents": 2.0}}
"""

import secrets
from dataclasses import asdict, dataclass, field
from functools import cached_property
from os import PathLike, fspath
from typing import Any

from reedbench import layouts
from reedbench.documents import Fields, read_json
from reedbench.layouts import Layout, Reed
from reedbench.output import clean
from reedbench.tuning import (
    DROP_CENTS,
    REFERENCE_HZ,
    TEMPERAMENTS,
    TOLERANCE_CENTS,
    note_hz,
    note_name,
    raised,
)

VERSION = 1
NAME_LONGEST = 80
SLIDES = ("cross", "straight")
PLATES = ("upper", "lower")

# Semitones from C. Instruments in G to B lie below the one in C, Db to F# above: published for ten-hole
# instruments (encyclopedia "Richter-tuned harmonica"); for slide instruments common practice, no source.
_KEYS = {
    "C": 0, "C#": 1, "Db": 1, "D": 2, "D#": 3, "Eb": 3, "E": 4, "F": 5, "F#": 6, "Gb": 6,
    "G": -5, "G#": -4, "Ab": -4, "A": -3, "A#": -2, "Bb": -2, "B": -1,
}  # fmt: skip
KEYS = {
    prefix + key: semitones + octave
    for prefix, octave in (("", 0), ("low ", -12), ("high ", 12))
    for key, semitones in _KEYS.items()
}


@dataclass(frozen=True)
class TuningOrder:
    """What the owner wants."""

    reference_hz: float = 440.0
    temperament: str = "equal"
    drop_cents: float = 0.0  # how much lower the reeds sound in play than on the bench
    tolerance_cents: float = 2.0

    def target_hz(self, midi: int) -> float:
        """What the note must read on the bench: its pitch in play, raised by the drop."""
        return raised(note_hz(midi, self.reference_hz), self.drop_cents)


@dataclass(frozen=True)
class InstrumentReed:
    """One tongue of one instrument: where it sits and what it must read."""

    ordinal: int
    place: str
    hole: int
    breath: str
    slide: str
    midi: int  # in the instrument's key
    note: str  # the same for people
    plate: str  # "upper" or "lower"
    face: str  # "inner" (towards the comb) or "outer" (under the cover)
    target_hz: float

    @property
    def label(self) -> str:
        """What the shop calls it: "3 draw, slide in"."""
        return f"{self.place} {self.breath}" + (f", slide {self.slide}" if self.slide else "")


@dataclass(frozen=True)
class Instrument:
    """One instrument of the shop. `key_id` is its identity in ledger and meter: 16 hexadecimal characters."""

    key_id: str
    name: str
    layout: Layout
    key: str = "C"
    slide: str = "cross"
    first_plate: str = "upper"  # the plate that hole 1 sounds with the slide out
    last_hole: str = ""  # note of the last reed where the layout leaves a choice, in an instrument in C
    order: TuningOrder = field(default_factory=TuningOrder)

    @classmethod
    def read(cls, path: str | PathLike[str]) -> "Instrument":
        """The instrument in the file at `path`; BadInput names file and field for anything else."""
        return cls.from_dict(read_json(path), clean(fspath(path)))

    @classmethod
    def from_dict(cls, values: Any, where: str = "instrument") -> "Instrument":
        """The instrument that `to_dict` wrote; `where` names the source in a refusal."""
        fields = Fields(values, where)
        fields.kind("instrument", VERSION)
        key_id = fields.take("key_id")
        if not isinstance(key_id, str) or len(key_id) != 16 or set(key_id) - set("0123456789abcdef"):
            fields.refuse("key_id", "the instrument's identity, 16 characters of 0 to 9 and a to f")
        name = fields.text("name", NAME_LONGEST)
        layout = layouts.load(fields.choice("layout", layouts.names()))
        key = fields.take("key")
        if not isinstance(key, str) or key not in KEYS:
            fields.refuse("key", 'a key such as "C", "Bb" or "F#", or one with "low " or "high " before it')
        slide = fields.choice("slide", SLIDES)
        first_plate = fields.choice("first_plate", PLATES)
        choices = [note for note, _ in layout.last_hole] or [""]
        last_hole = fields.choice("last_hole", choices, choices[0])
        order = _order(fields.inner("order"))
        fields.done()
        return cls(key_id, name, layout, key, slide, first_plate, last_hole, order)

    def to_dict(self) -> dict[str, Any]:
        """The instrument as it stands in its file."""
        return {
            "reedbench": "instrument",
            "version": VERSION,
            "key_id": self.key_id,
            "name": self.name,
            "layout": self.layout.id,
            "key": self.key,
            "slide": self.slide,
            "first_plate": self.first_plate,
            "last_hole": self.last_hole,
            "order": asdict(self.order),
        }

    @cached_property
    def reeds(self) -> tuple[InstrumentReed, ...]:
        """All reeds; the reed of ordinal n stands at place n."""
        last = dict(self.layout.last_hole).get(self.last_hole, self.layout.reeds[-1].midi)
        notes = [reed.midi for reed in self.layout.reeds[:-1]] + [last]
        return tuple(self._placed(reed, midi) for reed, midi in zip(self.layout.reeds, notes, strict=True))

    def _placed(self, reed: Reed, midi_in_c: int) -> InstrumentReed:
        midi = midi_in_c + KEYS[self.key]
        return InstrumentReed(
            ordinal=reed.ordinal,
            place=reed.place,
            hole=reed.hole,
            breath=reed.breath,
            slide=reed.slide,
            midi=midi,
            note=note_name(midi),
            plate=plate_of(reed, self.slide, self.first_plate),
            # A reed sits on the side its air comes from (Euphonics, an academic web textbook, 11.6).
            face="inner" if reed.breath == "blow" else "outer",
            target_hz=self.order.target_hz(midi),
        )

    def sounding_order(self) -> list[int]:
        """Ordinals in the order of a survey: upper plate, then lower; hole by hole, blow before draw."""
        walk = sorted(self.reeds, key=lambda reed: (PLATES.index(reed.plate), reed.hole, reed.breath))
        return [reed.ordinal for reed in walk]


def plate_of(reed: Reed, slide: str, first_plate: str) -> str:
    """The plate a reed sits on.

    A straight slide opens one plate in every hole and the other when pressed; a cross slide changes plates
    from hole to hole (encyclopedia "Slider design").
    """
    steps = (reed.slide == "in") + (reed.hole - 1 if slide == "cross" else 0)
    return PLATES[(PLATES.index(first_plate) + steps) % 2]


def new_key_id() -> str:
    """A fresh identity for an instrument."""
    return secrets.token_hex(8)


def _order(fields: Fields) -> TuningOrder:
    order = TuningOrder(
        reference_hz=fields.number("reference_hz", *REFERENCE_HZ),
        temperament=fields.choice("temperament", TEMPERAMENTS, "equal"),
        drop_cents=fields.number("drop_cents", *DROP_CENTS, default=0.0),
        tolerance_cents=fields.number("tolerance_cents", *TOLERANCE_CENTS),
    )
    fields.done()
    return order
