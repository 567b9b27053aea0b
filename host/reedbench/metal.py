"""What removing metal does to a reed's pitch: a uniform cantilever beam, first order.

A reed is a tongue fixed at its root (rivet, x = 0) and free at its tip (x = 1). Thinning it where it moves
most takes mass away and raises the pitch; thinning it where it bends most takes stiffness away and lowers
it. For a small fraction eps of the thickness removed at x the pitch changes by

    df/f = integral of eps(x) S(x) dx,    S(x) = 1/2 [phi(x)^2 - 3 psi(x)^2]

where phi is the first mode of a uniform beam and psi its curvature, both with mean square 1 (Rayleigh's
quotient; eigenvalues in W. T. Thomson, Theory of Vibration with Applications, App. D.3). Real reeds are
profiled: signs and orders of magnitude hold, coefficients do not. Say so wherever a figure from here meets
a person.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

CENTS_PER_LOG = 1200 / math.log(2)  # 1731.234: cents of a small relative change of frequency


def _root_of(function: Callable[[float], float], low: float, high: float) -> float:
    """The zero of `function` between `low` and `high`, where its sign differs."""
    rising = function(high) > 0
    while high - low > 1e-14 * high:
        middle = (low + high) / 2
        if middle in (low, high):
            break
        if (function(middle) > 0) == rising:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def eigenvalue(mode: int) -> float:
    """b of the mode (1, 2, 3, ...), a root of 1 + cos b cosh b = 0; frequency goes with its square."""
    middle = (mode - 0.5) * math.pi
    return _root_of(lambda b: math.cos(b) + 1 / math.cosh(b), middle - 0.5, middle + 0.5)


FIRST = eigenvalue(1)
_SIGMA = (math.cosh(FIRST) + math.cos(FIRST)) / (math.sinh(FIRST) + math.sin(FIRST))


def motion(x: float) -> float:
    """First mode at x (0 root, 1 tip), mean square 1: 0 at the root, 2 at the tip."""
    b = FIRST * x
    return math.cosh(b) - math.cos(b) - _SIGMA * (math.sinh(b) - math.sin(b))


def bending(x: float) -> float:
    """Curvature of the first mode at x, mean square 1: 2 at the root, 0 at the tip."""
    b = FIRST * x
    return math.cosh(b) + math.cos(b) - _SIGMA * (math.sinh(b) + math.sin(b))


def sensitivity(x: float) -> float:
    """S(x): relative change of frequency per fraction of thickness removed, per unit of length."""
    return (motion(x) ** 2 - 3 * bending(x) ** 2) / 2


def zone_sensitivity(start: float, end: float) -> float:
    """Mean of S between `start` and `end` (fractions of the length from the root)."""
    nodes, weights = np.polynomial.legendre.leggauss(16)
    places = start + (end - start) * (nodes + 1) / 2
    return float(sum(w * sensitivity(float(x)) for x, w in zip(places, weights, strict=True)) / 2)


def tip_mass_ratio(mass: float) -> float:
    """f/f0 of a uniform reed that carries `mass` (as a fraction of its own) at the very tip; exact.

    The root of 1 + cos b cosh b + mass b (cos b sinh b - sin b cosh b) = 0, divided by cosh b.
    """

    def equation(b: float) -> float:
        return 1 / math.cosh(b) + math.cos(b) + mass * b * (math.cos(b) * math.tanh(b) - math.sin(b))

    return (_root_of(equation, 1e-3, FIRST + 1e-9) / FIRST) ** 2


@dataclass(frozen=True)
class Zone:
    """A stretch of the reed where metal may come off."""

    name: str
    words: str
    start: float
    end: float

    def thinning(self, move_cents: float) -> float:
        """Fraction of the thickness to take off the whole zone for a move, by this model; never negative."""
        gain = CENTS_PER_LOG * zone_sensitivity(self.start, self.end) * (self.end - self.start)
        return max(0.0, move_cents / gain)


TIP = Zone("tip", "near the tip, last fifth", 0.8, 1.0)
ROOT = Zone("rivet", "near the rivet, first fifth", 0.0, 0.2)


def zone_for(move_cents: float) -> Zone:
    """Where metal comes off: tip to raise, rivet to lower; never between, where the sign turns."""
    return TIP if move_cents > 0 else ROOT
