"""How the octave is divided: cents of each degree from the tonic, and which note stays where the reference puts it.

Ratios make these tables; none is written down in cents. "Chord" temperaments are made for instruments that play few
keys: their tonic keeps its equal-tempered pitch at the chosen A, so that instruments in several keys agree with a
keyboard on their key notes.
"""

import math
from dataclasses import dataclass
from fractions import Fraction

from reedbench.tuning.notes import A4

_FLATTEST, _SHARPEST = -3, 8  # twelve fifths in a row, from three below the tonic to eight above: Eb to G# for C


@dataclass(frozen=True)
class Temperament:
    """`degrees[n]`: cents above the tonic of the note n semitones over it, None where nothing is said of it."""

    degrees: tuple[float | None, ...]
    kept: str  # "tonic" or "A": the note that keeps its equal-tempered pitch at the reference
    meaning: str

    def offset_cents(self, midi: int, tonic: int) -> float | None:
        """How far the note `midi` lies above its equal-tempered pitch; `tonic` is a pitch class, 0 to 11 from C."""
        own = self._from_equal(midi, tonic)
        if own is None or self.kept == "tonic":
            return own
        return own - (self._from_equal(A4, tonic) or 0.0)

    def _from_equal(self, midi: int, tonic: int) -> float | None:
        degree = (midi - tonic) % 12
        cents = self.degrees[degree]
        return None if cents is None else cents - 100 * degree


def cents_of(ratio: Fraction | float) -> float:
    """Size of an interval, upper over lower frequency."""
    return 1200 * math.log2(ratio)


def _of_fifths(fifth: float) -> tuple[float, ...]:
    """Degrees of a chain of fifths (a ratio), the wolf between its ends."""
    chain = {7 * place % 12: cents_of(fifth) * place % 1200 for place in range(_FLATTEST, _SHARPEST + 1)}
    return tuple(chain[degree] for degree in range(12))


def _of_ratios(ratios: str) -> tuple[float | None, ...]:
    return tuple(None if word == "-" else cents_of(Fraction(word)) for word in ratios.split())


def _halfway(degrees: tuple[float | None, ...]) -> tuple[float | None, ...]:
    """The mean of these degrees and equal temperament's."""
    return tuple(None if cents is None else (cents + 100 * degree) / 2 for degree, cents in enumerate(degrees))


_JUST = _of_ratios("1 16/15 9/8 6/5 5/4 4/3 45/32 3/2 8/5 5/3 9/5 15/8")
_SEVEN = _of_ratios("1 - 9/8 - 5/4 21/16 - 3/2 - 27/16 - 15/8")
_NINETEEN = _of_ratios("1 - 9/8 - 5/4 171/128 - 3/2 - 27/16 - 15/8")

TEMPERAMENTS = {
    "equal": Temperament(tuple(100.0 * degree for degree in range(12)), "A", "twelve equal semitones"),
    "meantone": Temperament(
        _of_fifths(5**0.25), "A", "quarter-comma: fifths narrow, major thirds pure; Eb to G# for C"
    ),
    "pythagorean": Temperament(_of_fifths(1.5), "A", "pure fifths; Eb to G# for C"),
    "just": Temperament(_JUST, "tonic", "5-limit: pure fifths and thirds over the tonic"),
    "7-limit": Temperament(_SEVEN, "tonic", "the dominant seventh chord 4:5:6:7; notes of the major scale only"),
    "19-limit": Temperament(
        _NINETEEN, "tonic", "the second degree's minor chord 16:19:24; notes of the major scale only"
    ),
    "compromise": Temperament(_halfway(_NINETEEN), "tonic", "halfway between equal and 19-limit"),
}
