"""Notes, hertz and cents.

Equal temperament: f = A x 2^((m - 69) / 12) for MIDI note m and reference A (ISO 16:1975 sets A4 = 440 Hz
as the standard). A cent is the 1200th part of an octave.
"""

import math
import re

A4 = 69
MIDI_TOP = 127

_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
_SIGNS = {"": 0, "#": 1, "b": -1}


def note_hz(midi: float, reference_hz: float) -> float:
    """Pitch in hertz of the equal-tempered note `midi` where A4 is `reference_hz`."""
    return float(reference_hz * 2.0 ** ((midi - A4) / 12))


def cents_between(hz: float, from_hz: float) -> float:
    """How far `hz` lies above (positive) or below `from_hz`, in cents."""
    return 1200 * math.log2(hz / from_hz)


def raised(hz: float, cents: float) -> float:
    """`hz` moved up by `cents` (down where negative)."""
    return float(hz * 2.0 ** (cents / 1200))


def note_name(midi: int) -> str:
    """Scientific name with sharps ("A4" for 69), for people only; programs keep the number."""
    return f"{_NAMES[midi % 12]}{midi // 12 - 1}"


def note_midi(name: str) -> int | None:
    """MIDI number of a scientific note name ("A4", "F#5", "Bb3"); None if it is not one."""
    found = re.fullmatch(r"([A-Ga-g][#b]?)(-?[0-9])", name)
    if not found:
        return None
    letter, octave = found.groups()
    midi = _semitones(letter) + 12 * (int(octave) + 1)
    return midi if 0 <= midi <= MIDI_TOP else None


def pitch_class(name: str) -> int | None:
    """Semitones from C, 0 to 11, of a note's name without its octave ("F#", "Bb"); None if it is not one."""
    return _semitones(name) % 12 if re.fullmatch(r"[A-Ga-g][#b]?", name) else None


def _semitones(name: str) -> int:
    return _NAMES.index(name[0].upper()) + _SIGNS[name[1:]]


def nearest_note(hz: float, reference_hz: float) -> int:
    """MIDI number of the equal-tempered note nearest to `hz`."""
    return round(A4 + 12 * math.log2(hz / reference_hz))
