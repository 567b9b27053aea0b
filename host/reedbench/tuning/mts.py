"""Pitches as the MIDI Tuning Standard's frequency words, for exchange with instruments and programs that retune.

Three bytes xx yy zz: xx the semitone, 0 to 127, yy zz fourteen bits of its fraction, so that a step is 100/16384
cent; 7F 7F 7F means "no change" and is no pitch. Always at A = 440 Hz: the word names a frequency.
"""

import math

from reedbench.tuning.notes import A4, note_hz

STEPS = 1 << 14  # of a semitone
_LAST = 128 * STEPS - 2  # 7F 7F 7E
_REFERENCE_HZ = 440.0


def word_of(hz: float) -> bytes:
    """The word nearest to `hz`; ValueError outside 8.1758 to 13289.66 Hz, what words can say."""
    steps = round((A4 + 12 * math.log2(hz / _REFERENCE_HZ)) * STEPS) if hz > 0 else -1
    if not 0 <= steps <= _LAST:
        raise ValueError(f"no word of the MIDI Tuning Standard says {hz:g} Hz")
    semitone, fraction = divmod(steps, STEPS)
    return bytes((semitone, fraction >> 7, fraction & 0x7F))


def hz_of(word: bytes) -> float:
    """Hertz that `word` says; ValueError where it is none, or the one for "no change"."""
    if len(word) != 3 or max(word) > 0x7F or word == b"\x7f\x7f\x7f":
        raise ValueError(f"{word.hex(' ')} says no pitch")
    semitone, high, low = word
    return note_hz(semitone + (high << 7 | low) / STEPS, _REFERENCE_HZ)
