"""Where metal comes off a reed and how much, or how much goes on at its tip: the beam of `beam.py`, asked backwards.

Thinning a reed where it moves most takes mass away and raises the pitch; thinning it where it bends most takes
stiffness away and lowers it. In between, near 0.58 of the length from the rivet, the two cancel.
"""

import math
from dataclasses import dataclass
from functools import cache

import numpy as np

from reedbench import beam

MOST = 0.4  # of the thickness: a reed that would need more wants something else
_FIRST = 1.87510406871196  # b of a uniform reed: 1 + cos b cosh b = 0 (Thomson, Theory of Vibration, App. D.3: 1.8751)


@dataclass(frozen=True)
class Zone:
    """A stretch of the reed where metal may come off; `start` and `end` in lengths of the reed from the rivet."""

    name: str
    words: str
    start: float
    end: float

    def thinning(self, move_cents: float) -> float:
        """Fraction of the thickness to take off the whole zone for a move; 0 for a move the other way, MOST at most."""
        fractions, gains = _gains(self.start, self.end)
        return float(np.interp(move_cents * math.copysign(1, gains[-1]), np.abs(gains), fractions))

    def gain(self, fraction: float) -> float:
        """Cents that the pitch moves when `fraction` of the thickness comes off the whole zone."""
        return float(beam.thinned(self.start, self.end, fraction))


@cache
def _gains(start: float, end: float) -> tuple[beam.Floats, beam.Floats]:
    """(fractions taken off a zone, cents that each moves the pitch), close enough to be read between by lines."""
    fractions = np.linspace(0, MOST, 81)
    return fractions, beam.thinned(start, end, fractions)


TIP = Zone("tip", "near the tip, last fifth", 0.8, 1.0)
ROOT = Zone("rivet", "near the rivet, first fifth", 0.0, 0.2)


def zone_for(move_cents: float) -> Zone:
    """Where metal comes off: tip to raise, rivet to lower; never between, where the sign turns."""
    return TIP if move_cents > 0 else ROOT


def tip_mass(move_cents: float) -> float:
    """Mass to add at the very tip for a move down, in masses of the reed; 0 for a move up, which takes metal away.

    Exact for a uniform reed: 1 + cos b cosh b + m b (cos b sinh b - sin b cosh b) = 0, solved for m.
    """
    b = _FIRST * 2 ** (min(0.0, move_cents) / 2400)
    mass = (1 + math.cos(b) * math.cosh(b)) / (b * (math.sin(b) * math.cosh(b) - math.cos(b) * math.sinh(b)))
    return max(0.0, mass)
