"""The parts of a layout file: voices, banks, plates, and the rows of places. Each reader checks what it reads."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reedbench.documents import Fields, shown
from reedbench.errors import BadInput
from reedbench.tuning import note_name

BREATHS = ("blow", "draw", "push", "pull")
SLIDES = ("out", "in")
SIDES = {"on": 0, "above": 1, "below": -1}
MIDI = (12, 120)
PLACES_MAX = 480
WORD_BYTES = 8  # of a place, member or plate, so that it fits the meter's messages

Row = tuple[str, list[int | None]]  # a place, and one note for each voice


@dataclass(frozen=True)
class Bank:
    """A set of reeds that repeats every voice of every place at an interval."""

    name: str = ""
    semitones: int = 0
    side: int = 0  # 1 or -1: tuned above or below the bank before it that has the same notes


@dataclass(frozen=True)
class Plate:
    """What some of the reeds sit on: those of a breath, a bank, a stretch of places; all where nothing is said."""

    name: str
    breath: str | None
    bank: str | None
    places: tuple[str, str] | None

    def holds(self, breath: str, bank: str, place: str, places: Sequence[str]) -> bool:
        """Whether a reed sits here; `places` are all of them in their order."""
        if self.breath not in (None, breath) or self.bank not in (None, bank):
            return False
        if self.places is None:
            return True
        first, last = map(places.index, self.places)
        return first <= places.index(place) <= last


def read_voices(fields: Fields) -> list[tuple[str, str]]:
    """(breath, slide) of each voice."""
    allowed = (
        'a list of different voices, such as ["blow", "draw"], ["blow out", "blow in"], or [""] for one way of air'
    )
    words = fields.take("voices")
    if not isinstance(words, list) or not words or not all(isinstance(word, str) for word in words):
        fields.refuse("voices", allowed)
    voices = [(breath, slide) for breath, _, slide in (word.partition(" ") for word in words)]
    sound = words == [""] or all(breath in BREATHS and slide in ("", *SLIDES) for breath, slide in voices)
    if not sound or len(set(voices)) < len(voices) or len({slide == "" for _, slide in voices}) > 1:
        fields.refuse("voices", allowed)
    return voices


def read_banks(fields: Fields) -> list[Bank]:
    """The banks, one without a name where the file has none."""
    entries = fields.take("banks", [])
    if not isinstance(entries, list):
        fields.refuse("banks", "a list of banks, each an object {...}")
    banks: list[Bank] = []
    for number, entry in enumerate(entries, start=1):
        inner = Fields(entry, fields.where, f"bank {number}: ")
        name = read_word(inner, "name")
        semitones = inner.whole("semitones", -36, 36, default=0)
        side = SIDES[inner.choice("tuned", SIDES, "on")]
        inner.done()
        if name in {bank.name for bank in banks}:
            inner.refuse("name", "a name that no other bank has")
        if side and all(bank.side or bank.semitones != semitones for bank in banks):
            inner.refuse("tuned", '"on", unless a bank before it has the same semitones and is the base of the pair')
        banks.append(Bank(name, semitones, side))
    return banks or [Bank()]


def read_plates(fields: Fields, places: Sequence[str], banks: Sequence[Bank]) -> list[Plate]:
    """The plates in the order of a survey."""
    entries = fields.take("plates")
    if not isinstance(entries, list) or not entries:
        fields.refuse(
            "plates", 'a list of plates, such as [{"name": "upper", "breath": "blow"}], in the order of a survey'
        )
    plates: list[Plate] = []
    for number, entry in enumerate(entries, start=1):
        inner = Fields(entry, fields.where, f"plate {number}: ")
        name = read_word(inner, "name")
        if name in {plate.name for plate in plates}:
            inner.refuse("name", "a name that no other plate has")
        breath = inner.choice("breath", BREATHS) if inner.take("breath") is not None else None
        bank = inner.choice("bank", [bank.name for bank in banks]) if inner.take("bank") is not None else None
        ends = _ends(inner, places) if inner.take("places") is not None else None
        inner.done()
        plates.append(Plate(name, breath, bank, ends))
    return plates


def _ends(fields: Fields, places: Sequence[str]) -> tuple[str, str]:
    """The first and the last place of a stretch."""
    ends = fields.take("places")
    known = isinstance(ends, list) and len(ends) == 2 and all(end in places for end in ends)
    if not known or places.index(ends[0]) > places.index(ends[1]):
        fields.refuse("places", "a list of the first and the last place on this plate")
    return ends[0], ends[1]


def read_word(fields: Fields, name: str, default: str | None = None) -> str:
    """A word that fits the meter's messages."""
    value = fields.take(name, default)
    if not _is_word(value):
        fields.refuse(name, f"a text of at most {WORD_BYTES} bytes")
    return str(value)


def read_rows(fields: Fields, voices: int) -> list[Row]:
    """The places from the low end up: a table in `reeds`, or a keyboard from the first to the last key in `keys`."""
    ends = fields.take("keys")
    table = fields.take("reeds")
    if (ends is None) == (table is None):
        fields.refuse("reeds", "a list of rows, unless there is a keyboard in keys; a file has one of the two")
    if table is None:
        if not isinstance(ends, list) or len(ends) != 2 or not all(map(is_midi, ends)) or ends[0] > ends[1]:
            fields.refuse("keys", "a list of the lowest and the highest key as MIDI note numbers, such as [53, 93]")
        return [(note_name(key), [key] * voices) for key in range(ends[0], ends[1] + 1)]
    if not isinstance(table, list) or not 0 < len(table) <= PLACES_MAX:
        fields.refuse("reeds", f"a list of 1 to {PLACES_MAX} rows")
    rows: list[Row] = []
    taken = set()
    for number, entry in enumerate(table, start=1):
        row = _row(entry, voices, f"{fields.where}: row {number} of reeds")
        if row[0] in taken:
            raise BadInput(f"{fields.where}: row {number} of reeds is {shown(row[0])} again; each place has one row")
        taken.add(row[0])
        rows.append(row)
    return rows


def _row(row: Any, voices: int, where: str) -> Row:
    if not isinstance(row, list) or len(row) != 1 + voices:
        raise BadInput(f"{where} must be a list of the place and {voices} notes")
    place, *notes = row
    if not _is_word(place):
        raise BadInput(f"{where}: the place is {shown(place)}; it must be a text of at most {WORD_BYTES} bytes")
    for midi in notes:
        if midi is not None and not is_midi(midi):
            raise BadInput(f"{where}: {shown(midi)} must be a MIDI note number from 12 to 120, or null for no reed")
    if all(midi is None for midi in notes):
        raise BadInput(f"{where} has no reed")
    return place, notes


def is_midi(value: Any) -> bool:
    """Whether `value` is a note that a reed may have."""
    return isinstance(value, int) and not isinstance(value, bool) and MIDI[0] <= value <= MIDI[1]


def _is_word(value: Any) -> bool:
    return (
        isinstance(value, str)
        and value == value.strip()
        and value.isprintable()
        and 0 < len(value.encode()) <= WORD_BYTES
    )
