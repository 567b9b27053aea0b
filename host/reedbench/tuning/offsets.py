"""Offsets of single notes or reeds in cents, from the order itself or from a small file beside it.

An offset stands under a note ("F#4"), a note in every octave ("F#"), or a reed as the plan calls it ("5 draw",
"3 draw, slide in", "A4 push, M+"). All that fit a reed add up. A file is either JSON, one object of such names and
cents, or CSV with the columns `at` and `cents`.
"""

import csv
import io
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from reedbench.documents import Fields, parse_json, read_bytes, shown
from reedbench.errors import BadInput
from reedbench.output import clean
from reedbench.tuning.notes import note_midi, pitch_class

MOST_CENTS = 100.0
MOST = 1000  # more than any instrument has reeds

Offsets = tuple[tuple[str, float], ...]


def read_offsets(fields: Fields, name: str, folder: Path) -> Offsets:
    """The offsets in field `name`: an object, or the name of a file in `folder`; BadInput for anything else."""
    value = fields.take(name, {})
    where = f"{fields.where}: {name}"
    if isinstance(value, str):
        path = fields.beside(name, folder, (".json", ".csv"))
        where, raw = clean(str(path)), read_bytes(path)
        value = _from_csv(raw, where) if path.suffix == ".csv" else parse_json(raw, where)
    if not isinstance(value, Mapping) or len(value) > MOST:
        raise BadInput(f"{where}: offsets are an object of at most {MOST} notes or reeds, and cents for each")
    return tuple((at, _cents(at, cents, where)) for at, cents in value.items())


def _cents(at: str, cents: Any, where: str) -> float:
    if not isinstance(cents, int | float) or isinstance(cents, bool) or not -MOST_CENTS <= cents <= MOST_CENTS:
        raise BadInput(
            f"{where}: the offset of {shown(at)} is {shown(cents)}; it must be a number of cents "
            f"from -{MOST_CENTS:g} to {MOST_CENTS:g}"
        )
    return float(cents)


def _from_csv(raw: bytes, where: str) -> dict[str, Any]:
    try:
        rows = list(csv.reader(io.StringIO(raw.decode("utf-8-sig")), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise BadInput(f"{where}: not a CSV file in UTF-8") from error
    if not rows or [cell.strip() for cell in rows[0]] != ["at", "cents"]:
        raise BadInput(f"{where}: the first line must name the columns: at,cents")
    found: dict[str, Any] = {}
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        if len(row) != 2 or row[0].strip() in found:
            raise BadInput(f"{where}: line {number} must hold one note or reed that has no line yet, and its cents")
        found[row[0].strip()] = _number(row[1])
    return found


def _number(text: str) -> float | str:
    """The number written; the text itself where it is none, to be refused with its name."""
    try:
        value = float(text)
    except ValueError:
        return text
    return value if math.isfinite(value) else text


def fitting(offsets: Offsets, midi: int) -> float:
    """Sum of the offsets of the note `midi`, by its name with or without its octave."""
    return sum(cents for at, cents in offsets if note_midi(at) == midi or pitch_class(at) == midi % 12)


def own(offsets: Offsets, label: str) -> float:
    """Sum of the offsets of the reed called `label`, apart from those of its note."""
    return sum(cents for at, cents in offsets if at == label and not is_note(at))


def is_note(at: str) -> bool:
    """Whether an offset is of a note rather than of a reed."""
    return note_midi(at) is not None or pitch_class(at) is not None


def unused(offsets: Offsets, reeds: Mapping[str, int]) -> str | None:
    """The first name that is neither one of `reeds` (MIDI notes by label) nor a note of theirs; None if all fit."""
    for at, _ in offsets:
        midi, degree = note_midi(at), pitch_class(at)
        known = at in reeds if not is_note(at) else any(note == midi or note % 12 == degree for note in reeds.values())
        if not known:
            return at
    return None
