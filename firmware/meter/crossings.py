"""The second figure: zero crossings of the tone, narrow-banded around its strongest low harmonic.

Two band-pass sections in integers, then a straight line through the times of the rising crossings. It shares
nothing with the phase figure but the samples; where the two disagree the take is not to be trusted.
"""

import math
from array import array

from .coarse import RATE
from .word import EXTEND, EXTEND16

CROSSINGS_MAX = 160
Q = 4.0  # of each section
COEFFICIENT_BITS = 13
TIME_BITS = 10  # crossing times in 1/1024 sample: 2^21 samples fit


@micropython.viper
def _crossings(x: ptr16, span: ptr32, gain: int, coeff: ptr32, state: ptr32, out: ptr32) -> int:
    """Filters x[span0 .. span1) and notes each span3-th rising crossing after span2; returns how many.

    Values stay below 2^16 (input below 2^14 after `gain`, peak gain of a section 1, transients below 2), the
    coefficients below 2^14.1: products below 2^30.1, sums of three below 2^31.
    """
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    b0 = (coeff[0] << extend) >> extend
    a1 = (coeff[1] << extend) >> extend
    a2 = (coeff[2] << extend) >> extend
    start = span[0]
    end = span[1]
    quiet = span[2]
    every = span[3]
    most = span[4]
    x1 = 0
    x2 = 0
    y1 = 0
    y2 = 0
    z1 = 0
    z2 = 0
    e = 0
    f = 0
    count = 0
    seen = 0
    i = start
    while i < end:
        x0 = (x[i] << extend16) >> extend16
        if gain >= 0:
            x0 = x0 << gain
        else:
            x0 = x0 >> (0 - gain)
        acc = b0 * (x0 - x2) - a1 * y1 - a2 * y2 + e
        y0 = acc >> 13
        e = acc & 8191
        x2 = x1
        x1 = x0
        acc = b0 * (y0 - y2) - a1 * z1 - a2 * z2 + f
        z0 = acc >> 13
        f = acc & 8191
        y2 = y1
        y1 = y0
        if z1 < 0:
            if z0 >= 0:
                if i >= quiet:
                    if seen == 0:
                        if count < most:
                            out[count] = ((i - start - 1) << 10) + ((0 - z1) << 10) // (z0 - z1)
                            count += 1
                        seen = every
                    seen -= 1
        z2 = z1
        z1 = z0
        i += 1
    return count


class Crossings:
    """The measurement. `scratch`: array("i") of at least CROSSINGS_MAX places, free again after `measure`."""

    def __init__(self, scratch):
        self._times = scratch

    def measure(self, samples, start, count, hz, most):
        """By how much the component near `hz` differs from it, as a ratio less 1; None with too few crossings.

        Looks at `count` samples from `start` on; `most` is the largest magnitude among them.
        """
        theta = 2 * math.pi * hz / RATE
        alpha = math.sin(theta) / (2 * Q)
        one = 1 << COEFFICIENT_BITS
        coefficients = array(
            "i",
            (
                int(one * alpha / (1 + alpha) + 0.5),
                math.floor(-2 * one * math.cos(theta) / (1 + alpha) + 0.5),
                int(one * (1 - alpha) / (1 + alpha) + 0.5),
            ),
        )
        gain = 13
        while gain and most << gain >= 16384:
            gain -= 1
        if most >= 16384:
            gain = -1
        # The filter rings in for about Q periods a section.
        settle = min(count // 3, int(2.5 * Q * RATE / hz))
        every = max(1, int(hz * (count - settle) / RATE / (CROSSINGS_MAX - 8)) + 1)
        span = array("i", (start, start + count, start + settle, every, CROSSINGS_MAX))
        found = _crossings(samples, span, gain, coefficients, coefficients, self._times)
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
