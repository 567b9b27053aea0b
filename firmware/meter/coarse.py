"""First estimate of a tone's period: normalised autocorrelation.

n(t) = 2 sum x[j] x[j+t] / sum (x[j]^2 + x[j+t]^2), between -1 and 1; it is near 1 where t is a whole number of
periods. With a reed expected, the best peak within PRIOR_CENTS of it is taken; without, the first peak nearly
as high as the highest. The period is then followed out to long multiples, which sharpens it.

Smoothing takes noise away, and from the highest reeds their tone as well; the lowest are looked for in every second
sample.
"""

import math
from array import array

from .word import EXTEND, EXTEND16

try:
    from .thumb import products
except SyntaxError:  # no Thumb processor
    from .plain import products

RATE = 16000
W = 512  # samples correlated for a measurement
W_GLANCE = 256  # and for a glance, which must not take longer than the microphone's buffer holds
LAG_MAX = 262  # longest period, 61 Hz; 30.5 Hz in LOW_VIEW
LAG_MIN = 4  # shortest period, 4 kHz
SMOOTH, BARE, LOW_VIEW = (1, 1), (0, 1), (1, 2)  # ways to look: weight of a sample's neighbours, samples a step
NEEDED = W + LAG_MAX + 2  # samples that `Coarse.listen` reads
NEEDED_GLANCE = W_GLANCE + LAG_MAX + 2
PRIOR_CENTS = 200
ONE = 32768  # n = 1
NEARLY = 0.88  # a first peak this high, against the highest, is the period
SHORT_LAG = 12  # below this a parabola through three points misses the top of a peak
FINE = 8  # places between two lags that are looked at there
_SPAN = 6  # lags on each side that enter a place between
COARSE_NEEDED = NEEDED + LAG_MAX + 1

# Band-limited interpolation: for each place between two lags the weights of the 2 _SPAN lags around, a sinc under
# a raised cosine, in 1/16384. Their magnitudes add up to less than 2, and n is at most 2^15: sums stay below 2^30.
_WEIGHTS = array("h", (0 for _ in range(FINE * 2 * _SPAN)))
for _p in range(FINE):
    for _i in range(2 * _SPAN):
        _x = math.pi * (_p / FINE + _SPAN - 1 - _i)
        _w = math.sin(_x) / _x if _p or _i != _SPAN - 1 else 1.0
        if not _p and _i != _SPAN - 1:
            _w = 0.0
        _WEIGHTS[_p * 2 * _SPAN + _i] = round(16384 * _w * (0.5 + 0.5 * math.cos(_x / (_SPAN + 0.5))))


@micropython.viper
def _sum(x: ptr16, start: int, count: int) -> int:
    extend = int(EXTEND16)
    total = 0
    i = start
    end = start + count
    while i < end:
        total += (x[i] << extend) >> extend
        i += 1
    return total


@micropython.viper
def _smooth(x: ptr16, start: int, count: int, plan: ptr32, y: ptr32) -> int:
    """y[i] = a x[j] + b x[j+1] + a x[j+2] - 4 mean with j = i * every (below 2^18); returns the largest magnitude.

    plan: mean, a, b, every; 2 a + b = 4.
    """
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    mean = ((plan[0] << extend) >> extend) * 4
    a = plan[1]
    b = plan[2]
    every = plan[3]
    most = 0
    i = 0
    j = start
    while i < count:
        sides = ((x[j] << extend16) >> extend16) + ((x[j + 2] << extend16) >> extend16)
        v = sides * a + ((x[j + 1] << extend16) >> extend16) * b - mean
        y[i] = v
        if v < 0:
            v = 0 - v
        if v > most:
            most = v
        i += 1
        j += every
    return most


@micropython.viper
def _shift(y: ptr32, count: int, right: int):
    extend = int(EXTEND)
    i = 0
    while i < count:
        y[i] = ((y[i] << extend) >> extend) >> right
        i += 1


@micropython.viper
def _normalise(y: ptr32, width: int, lag_max: int, out: ptr32):
    """out[t], so far the sum of products, becomes n(t) * 32768 for t = 0 .. lag_max.

    |y| < 2^10, so sums over 512 stay below 2^29 and the energy of two stretches below 2^30. Numerator and
    energy are shifted down together until the quotient fits.
    """
    extend = int(EXTEND)
    energy = ((out[0] << extend) >> extend) * 2
    t = 0
    while t <= lag_max:
        r = (out[t] << extend) >> extend
        down = 0
        e = energy
        while e >= 65536:
            e = e >> 1
            down += 1
        half = e >> 1
        sign = 1
        if r < 0:
            sign = -1
            r = 0 - r
        if half > 0:
            out[t] = sign * (((r >> down) << 15) // half)
        else:
            out[t] = 0
        if t < lag_max:
            first = (y[t] << extend) >> extend
            last = (y[t + width] << extend) >> extend
            energy += last * last - first * first
        t += 1


@micropython.viper
def _between(n: ptr32, place: int, weights: ptr16) -> int:
    """n at `place` eighths of a lag, times 16384; n is even in the lag."""
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    lag = (place >> 3) - 5
    w = (place & 7) * 12
    end = w + 12
    total = 0
    while w < end:
        at = lag
        if at < 0:
            at = 0 - at
        total += ((n[at] << extend) >> extend) * ((weights[w] << extend16) >> extend16)
        lag += 1
        w += 1
    return total


def bits(value):
    """Bits needed for a number >= 0."""
    count = 0
    while value:
        value >>= 1
        count += 1
    return count


class Coarse:
    """The last correlation, `n`. `scratch`: array("i") of at least COARSE_NEEDED places, which also holds `n`."""

    def __init__(self, scratch):
        self._y = scratch
        self._plan = array("i", (0 for _ in range(4)))
        self.n = memoryview(scratch)[NEEDED:COARSE_NEEDED]

    def listen(self, samples, start, width=W, view=SMOOTH):
        """Correlates `width` samples from `start` on; reads `width` + LAG_MAX + 2, twice as many for LOW_VIEW.

        SMOOTH looks through [1 2 1] / 4, BARE at the samples as they are, LOW_VIEW at every second smoothed one: its
        periods and lags count two samples each.
        """
        count = width + LAG_MAX
        plan = self._plan
        side, plan[3] = view
        plan[0] = _sum(samples, start, count * plan[3]) // (count * plan[3])
        plan[1], plan[2] = side, 4 - 2 * side
        most = _smooth(samples, start, count, plan, self._y)
        _shift(self._y, count, max(0, bits(most) - 10))
        products(self._y, width, LAG_MAX, self.n)
        _normalise(self._y, width, LAG_MAX, self.n)

    def near(self, expected, sharp=True):
        """(period, clarity) of the best peak within PRIOR_CENTS of the period `expected`; clarity 0 if there is none.

        sharp: follow the period out to long multiples, here and in `free`.
        """
        width = 2 ** (PRIOR_CENTS / 1200)
        low = max(LAG_MIN - 1, expected / width)
        high = min(LAG_MAX - 1, expected * width)
        if high <= low:
            return 0.0, 0.0
        period, height = self._top(int(low), min(LAG_MAX - 1, int(high) + 1))
        if height <= 0 or not low <= period <= high:
            return 0.0, 0.0
        return (self._sharpen(period) if sharp else period), height

    def free(self, sharp=True):
        """(period, clarity) of the tone whatever it is; (0, 0) if nothing is periodic."""
        n = self.n
        t = 1
        while t < LAG_MAX and n[t] > 0:
            t += 1
        best = max(n[t : LAG_MAX + 1])
        while t < LAG_MAX:
            if n[t] <= 0:
                t += 1
                continue
            first = t
            while t < LAG_MAX and n[t] > 0:
                t += 1
            period, height = self._top(first, t - 1)
            if height * ONE >= NEARLY * best and period >= LAG_MIN - 0.5:
                return (self._sharpen(period) if sharp else period), height
        return 0.0, 0.0

    def at(self, period):
        """n at its highest within a sample or so of a period."""
        t = int(period + 0.5)
        return self._top(max(1, t - 1), min(LAG_MAX - 1, t + 1))[1]

    def _top(self, first, last):
        """(place, height) of the highest point among lags first..last."""
        n = self.n
        best = first
        for t in range(first, last + 1):
            if n[t] > n[best]:
                best = t
        if not 0 < best < LAG_MAX:
            return float(best), 0.0
        if best < SHORT_LAG:
            return self._fine_top(best)
        place, height = _parabola(n[best - 1], n[best], n[best + 1])
        return best + place, height / ONE

    def _fine_top(self, t):
        """The same where few lags make a period: on a grid of 1/FINE lag."""
        place = t * FINE
        best, height = place, -2 * ONE * 16384
        for p in range(place - FINE + 1, place + FINE):
            value = _between(self.n, p, _WEIGHTS)
            if value > height:
                best, height = p, value
        below, above = _between(self.n, best - 1, _WEIGHTS), _between(self.n, best + 1, _WEIGHTS)
        step, height = _parabola(below, height, above)
        return (best + step) / FINE, height / ONE / 16384

    def _sharpen(self, period):
        """Follows the peak at `period` out to its longest multiple within LAG_MAX, doubling as it goes."""
        times = 1
        while True:
            more = times * 2
            if more * period > LAG_MAX - 2:
                more = int((LAG_MAX - 2) / period)
            if more <= times:
                return period
            middle = int(more * period + 0.5)
            reach = max(1, min(3, int(period / 6)))
            period = self._top(max(1, middle - reach), min(LAG_MAX - 1, middle + reach))[0] / more
            times = more


def _parabola(a, b, c):
    """(place of the top against the middle, its height) of the parabola through three neighbouring points."""
    bend = a - 2 * b + c
    if bend >= 0:
        return 0.0, b
    step = max(-0.5, min(0.5, (a - c) / (2.0 * bend)))
    return step, b - (a - c) * step / 4
