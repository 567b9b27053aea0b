"""One physical instrument: its layout, key, slide construction, and the tuning its owner ordered.

An instrument is one small JSON file:

    {"reedbench": "instrument", "version": 1, "key_id": "6f1c0a9be2d43875", "name": "the tenor",
     "layout": "solo-12", "key": "low C", "slide": "cross", "first_plate": "upper", "last_hole": "D",
     "order": {"reference_hz": 442.0, "temperament": "equal", "drop_cents": 1.5, "tolerance_cents": 2.0}}

A layout of one's own is named by its file, which lies beside the instrument's; what `to_dict` gives holds it whole, so
that the ledger needs no other file.
"""

import secrets
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from os import PathLike, fspath
from pathlib import Path
from typing import Any

from reedbench import layouts
from reedbench.documents import Fields, read_json, shown
from reedbench.errors import BadInput
from reedbench.layouts import Layout, Reed
from reedbench.layouts.layout import COMB as PLATES
from reedbench.layouts.layout import FACES
from reedbench.output import clean
from reedbench.tuning import TuningOrder, beat_hz, cents_between, note_hz, note_name, raised
from reedbench.tuning.mts import word_of
from reedbench.tuning.offsets import unused

__all__ = [
    "KEYS",
    "PLATES",
    "SLIDES",
    "VERSION",
    "Instrument",
    "InstrumentReed",
    "TuningOrder",
    "new_key_id",
    "plate_of",
]

VERSION = 1
NAME_LONGEST = 80
SLIDES = ("cross", "straight")

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
class InstrumentReed:
    """One tongue of one instrument: where it sits and what it must read."""

    ordinal: int
    place: str
    hole: int
    breath: str
    slide: str
    member: str  # bank, or member of a pair; "" where there is one
    midi: int  # in the instrument's key
    note: str  # the same for people
    plate: str  # what it sits on: "upper", "lower"; a bank's block
    face: str  # "inner" (towards comb or chamber), "outer" (under the cover, towards the bellows), or ""
    base: int | None  # ordinal of the base reed of its pair, for one that is tuned against another
    target_hz: float

    @cached_property
    def label(self) -> str:
        """What the shop calls it: "3 draw, slide in", "F#4 push, M+"."""
        return _label(self)

    def to_dict(self) -> dict[str, Any]:
        """Where it sits and what it must read, for tables and other programs; the keys are stable."""
        return {
            "ordinal": self.ordinal,
            "place": self.place,
            "breath": self.breath,
            "slide": self.slide,
            "member": self.member,
            "plate": self.plate,
            "face": self.face,
            "note": self.note,
            "target_hz": self.target_hz,
        }


def _label(reed: Reed | InstrumentReed) -> str:
    called = f"{reed.place} {reed.breath}".rstrip()
    return ", ".join(filter(None, (called, reed.slide and f"slide {reed.slide}", reed.member)))


@dataclass(frozen=True)
class Instrument:
    """One instrument of the shop. `key_id` is its identity in ledger and meter: 16 hexadecimal characters."""

    key_id: str
    name: str
    layout: Layout
    key: str = "C"
    slide: str = "cross"  # means nothing without a slide, like the two below it
    first_plate: str = "upper"  # the plate that hole 1 sounds with the slide out
    last_hole: str = ""  # note of the last reed where the layout leaves a choice, in an instrument in C
    order: TuningOrder = field(default_factory=TuningOrder)
    # Cents that the targets of reeds, by ordinal, lie elsewhere in a state other than that of the order; no part of it.
    shifts: Mapping[int, float] = field(default_factory=dict)

    @classmethod
    def read(cls, path: str | PathLike[str]) -> "Instrument":
        """The instrument in the file at `path`; BadInput names file and field for anything else."""
        return cls.from_dict(read_json(path), clean(fspath(path)), Path(path).parent)

    @classmethod
    def from_dict(cls, values: Any, where: str = "instrument", folder: Path | None = None) -> "Instrument":
        """The instrument that `to_dict` wrote, or that a file describes.

        `where` names the source in a refusal; files that it names lie in `folder`, otherwise where one works.
        """
        folder = folder or Path()
        fields = Fields(values, where)
        fields.kind("instrument", VERSION)
        key_id = fields.take("key_id")
        if not isinstance(key_id, str) or len(key_id) != 16 or set(key_id) - set("0123456789abcdef"):
            fields.refuse("key_id", "the instrument's identity, 16 characters of 0 to 9 and a to f")
        name = fields.text("name", NAME_LONGEST)
        layout = _layout(fields, folder)
        key = fields.take("key", "C" if not layout.transposing else None)
        if not isinstance(key, str) or key not in KEYS:
            fields.refuse("key", 'a key such as "C", "Bb" or "F#", or one with "low " or "high " before it')
        if KEYS[key] and not layout.transposing:
            fields.refuse("key", f'"C" or left out: {layout.id} says the notes themselves')
        slide, first_plate = _slide(fields, layout)
        choices = [note for note, _ in layout.last_hole] or [""]
        last_hole = fields.choice("last_hole", choices, choices[0])
        order = TuningOrder.read(fields.inner("order"), folder)
        fields.done()
        instrument = cls(key_id, name, layout, key, slide, first_plate, last_hole, order)
        instrument._check_order(where)
        return instrument

    def to_dict(self) -> dict[str, Any]:
        """The instrument as it stands in its file, a layout of one's own and offsets with it: it needs no other file.

        What means nothing for its layout is left out.
        """
        key = {"key": self.key} if self.layout.transposing else {}
        slide = {"slide": self.slide, "first_plate": self.first_plate} if self.layout.has_slide else {}
        last = {"last_hole": self.last_hole} if self.layout.last_hole else {}
        return {
            "reedbench": "instrument",
            "version": VERSION,
            "key_id": self.key_id,
            "name": self.name,
            "layout": self.layout.id if self.layout.id in layouts.names() else dict(self.layout.document),
            **key,
            **slide,
            **last,
            "order": self.order.to_dict(),
        }

    @property
    def about(self) -> str:
        """What it is and what is ordered, in a line: "solo-12 in C; A = 442 Hz, within 2 cents; just over C; ..."."""
        pairs = [(self.order.pairs or self.layout.pairs)] if self.layout.has_pairs else []
        kind = f"{self.layout.id} in {self.key}" if self.layout.transposing else self.layout.id
        return "; ".join([kind, *self.order.words(self.key), *(law.words for law in pairs if law)])

    @property
    def plates(self) -> tuple[str, ...]:
        """What its reeds sit on, in the order of a survey."""
        return self.layout.plates

    @cached_property
    def reeds(self) -> tuple[InstrumentReed, ...]:
        """All reeds; the reed of ordinal n stands at place n."""
        return tuple(self._placed(reed) for reed in self._in_key)

    @cached_property
    def targets(self) -> tuple[float, ...]:
        """What each reed must read, in hertz, by ordinal."""
        return tuple(reed.target_hz for reed in self.reeds)

    def targets_at(self, reference_hz: float) -> tuple[float, ...]:
        """The same for another reference A."""
        order = replace(self.order, reference_hz=reference_hz)
        return tuple(self._target_hz(reed, order) for reed in self._in_key)

    @cached_property
    def _in_key(self) -> tuple[Reed, ...]:
        """The layout's reeds with the notes of this instrument."""
        *others, highest = self.layout.reeds
        last = dict(self.layout.last_hole).get(self.last_hole, highest.midi)
        kept = (*others, highest if last == highest.midi else replace(highest, midi=last))
        moved = KEYS[self.key]
        return tuple(replace(reed, midi=reed.midi + moved) for reed in kept) if moved else kept

    def _target_hz(self, reed: Reed, order: TuningOrder) -> float:
        hz = order.target_hz(reed.midi, self._tonic, _label(reed), reed.side, self.layout.pairs)
        return raised(hz, self.shifts.get(reed.ordinal, 0.0))

    def _placed(self, reed: Reed) -> InstrumentReed:
        return InstrumentReed(
            ordinal=reed.ordinal,
            place=reed.place,
            hole=reed.hole,
            breath=reed.breath,
            slide=reed.slide,
            member=reed.member,
            midi=reed.midi,
            note=note_name(reed.midi),
            plate=reed.plate or plate_of(reed, self.slide, self.first_plate),
            face=FACES[reed.breath],
            base=reed.base,
            target_hz=self._target_hz(reed, self.order),
        )

    @property
    def _tonic(self) -> int:
        return KEYS[self.key] % 12

    def _check_order(self, where: str) -> None:
        """Raises BadInput where the order does not fit the reeds."""
        reeds = self._in_key
        for reed in reeds:
            if self.order.note_offset_cents(reed.midi, self._tonic) is None:
                raise BadInput(
                    f"{where}: order.temperament: {self.order.temperament} says nothing of {note_name(reed.midi)}, "
                    f"which {_label(reed)} sounds: choose another temperament or tonic"
                )
        stray = unused(self.order.offsets, {_label(reed): reed.midi for reed in reeds})
        if stray is not None:
            raise BadInput(
                f"{where}: order.offsets: {shown(stray)} is neither a note nor a reed of this instrument; "
                f"write {note_name(reeds[0].midi)} or {_label(reeds[0])}, for example"
            )

    def sounding_order(self) -> list[int]:
        """Ordinals in the order of a survey: plate by plate; place by place, bank by bank, blow before draw."""
        places = {plate: place for place, plate in enumerate(self.plates)}
        return sorted(range(len(self.reeds)), key=lambda ordinal: (places[self.reeds[ordinal].plate], ordinal))

    def target_beat_hz(self, reed: InstrumentReed) -> float | None:
        """How fast a reed must beat with the base reed of its pair; None where it is tuned against none."""
        return None if reed.base is None else beat_hz(self.reeds[reed.base].target_hz, reed.target_hz)

    def targets_table(self) -> list[dict[str, Any]]:
        """What each reed must read, in the order of a survey; the keys are stable.

        `from_equal_cents` is from the equal-tempered note at the order's reference; `mts` the target as a word of the
        MIDI Tuning Standard; `beat_hz` against the reed of ordinal `base`, both None where there is no pair.
        """
        return [self._row(self.reeds[ordinal]) for ordinal in self.sounding_order()]

    def _row(self, reed: InstrumentReed) -> dict[str, Any]:
        return reed.to_dict() | {
            "midi": reed.midi,
            "from_equal_cents": cents_between(reed.target_hz, note_hz(reed.midi, self.order.reference_hz)),
            "mts": word_of(reed.target_hz).hex(" ").upper(),
            "base": reed.base,
            "beat_hz": self.target_beat_hz(reed),
        }


def plate_of(reed: Reed, slide: str, first_plate: str) -> str:
    """The plate a reed of a slide instrument sits on.

    A straight slide opens one plate in every hole and the other when pressed; a cross slide changes plates
    from hole to hole (encyclopedia "Slider design").
    """
    steps = (reed.slide == "in") + (reed.hole - 1 if slide == "cross" else 0)
    return PLATES[(PLATES.index(first_plate) + steps) % 2]


def new_key_id() -> str:
    """A fresh identity for an instrument."""
    return secrets.token_hex(8)


def _layout(fields: Fields, folder: Path) -> Layout:
    """The layout in the field: an id, the name of a file in `folder`, or the layout itself."""
    value = fields.take("layout")
    if isinstance(value, dict):
        return layouts.own(value, f"{fields.where}: layout")
    if isinstance(value, str) and value.endswith(".json"):
        return layouts.read(fields.beside("layout", folder, (".json",)))
    if not isinstance(value, str) or value not in layouts.names():
        fields.refuse("layout", "one that `reedbench layout list` has, or the name of a layout file beside this one")
    return layouts.load(value)


def _slide(fields: Fields, layout: Layout) -> tuple[str, str]:
    """(slide, first plate), both empty where there is no slide."""
    if layout.has_slide:
        return fields.choice("slide", SLIDES), fields.choice("first_plate", PLATES)
    for name in ("slide", "first_plate"):
        if fields.take(name) is not None:
            fields.refuse(name, f"left out: {layout.id} has no slide")
    return "", ""
