"""The second figure: zero crossings of the tone, narrow-banded around its strongest low harmonic.

Two band-pass sections in integers, then a straight line through the times of the rising crossings. It shares
nothing with the phase figure but the samples; where the two disagree the take is not to be trusted.
"""

import math
from array import array

from .coarse import RATE

try:
    from .thumb import crossings
except SyntaxError:  # no Thumb processor
    from .plain import crossings

CROSSINGS_MAX = 160
Q = 4.0  # of each section
COEFFICIENT_BITS = 13
TIME_BITS = 10  # crossing times in 1/1024 sample: 2^21 samples fit


class Crossings:
    """The measurement. `scratch`: array("i") of more than CROSSINGS_MAX places, free again after `measure`."""

    def __init__(self, scratch):
        self._times = scratch

    def measure(self, samples, start, count, hz, most):
        """By how much the component near `hz` differs from it, as a ratio less 1; None with too few crossings.

        Looks at `count` samples from `start` on; `most` is the largest magnitude among them.
        """
        theta = 2 * math.pi * hz / RATE
        alpha = math.sin(theta) / (2 * Q)
        one = 1 << COEFFICIENT_BITS
        gain = 13
        while gain and most << gain >= 16384:
            gain -= 1
        if most >= 16384:
            gain = -1
        # The filter rings in for about Q periods a section.
        settle = min(count // 3, int(2.5 * Q * RATE / hz))
        every = max(1, int(hz * (count - settle) / RATE / (CROSSINGS_MAX - 8)) + 1)
        plan = (
            start,
            start + count,
            start + settle,
            every,
            CROSSINGS_MAX,
            gain + 1,
            int(one * alpha / (1 + alpha) + 0.5),
            math.floor(-2 * one * math.cos(theta) / (1 + alpha) + 0.5),
            int(one * (1 - alpha) / (1 + alpha) + 0.5),
            0,
        )
        crossings(samples, array("i", plan), self._times)
        found = self._times[CROSSINGS_MAX]
        if found < 8:
            return None
        return self._line(found, every * RATE / hz)

    def _line(self, found, spacing):
        """Straight line through the crossing times, which should lie `spacing` samples apart."""
        times = self._times
        one = 1 << TIME_BITS
        half = (found - 1) / 2
        slope = square = 0.0
        for i in range(found):
            # Against the expected time, so that single precision suffices.
            late = times[i] - times[0] - int(i * spacing * one)
            slope += (i - half) * late
            square += (i - half) * (i - half)
        late = slope / square / one
        return -late / (spacing + late)
