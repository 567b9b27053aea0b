"""Notices two reeds in the baseband of a tone, and tells where each lies.

Two places are looked for at which tones explain most of the power in all harmonics at once: of harmonic k they lie k
times as far from the oscillator. What two tones explain is known from what each explains alone and from how much they
have in common. Of two reeds an octave apart the upper one sounds in the even harmonics only.

This is for the screen, and to know that a tone is worth keeping; the host does better from the same points.
"""

import math
from array import array

from .tables import SINE
from .word import EXTEND16

POINTS_LEAST = 12
WIDE = 0.0264  # of the pitch, 45 cents: so far from the oscillator a reed is looked for
NEAREST = 0.3  # beats that two reeds must make in the span
LEAST = 0.003  # of the power: one reed that leaves less is alone, or nobody can tell; as much a breath may leave
NOTICED = 0.35  # two reeds leave at most this share of what one leaves
ODD_LEFT = 0.02  # of its power: who has less in the odd harmonics is an octave above ...
ODD_LEAST = 0.1  # ... if the other has this much there
STARTS = 3
WEAKEST = 0.01  # of the louder one's power: what is below -20 dB may be the breath's
CANCELLED = 4.0  # times the power of both together that they may have apart: with more they stand for a bend
FINER = 7  # times the grid's step is halved at the end
ROUTES = ((1, 0), (-1, 0), (0, 1), (0, -1), (1, 1), (-1, -1), (1, -1), (-1, 1))


@micropython.viper
def _project(points: ptr16, count: int, first: int, step: int, sine: ptr16, out: ptr32):
    """out0 + i out1 = sum of points[j] exp(-i phase) / 8; the phase, 2^30 to the turn, rises by `step` from `first`.

    A product of 15 by 15 bits, >> 18, is below 2^12; twice 96 of them stay below 2^20.
    """
    extend = int(EXTEND16)
    re = 0
    im = 0
    phase = first
    j = 0
    while j < count:
        a = (points[2 * j] << extend) >> extend
        b = (points[2 * j + 1] << extend) >> extend
        k = (phase >> 19) & 2047
        s = (sine[k] << extend) >> extend
        c = (sine[k + 512] << extend) >> extend
        re += (a * c + 131072) >> 18
        re += (b * s + 131072) >> 18
        im += (b * c + 131072) >> 18
        im -= (a * s + 131072) >> 18
        phase = (phase + step) & 0x3FFFFFFF
        j += 1
    out[0] = re
    out[1] = im


@micropython.viper
def _power(points: ptr16, count: int) -> int:
    """Sum of squares, / 64. A point's is below 2^29 (baseband.POINT_BITS, 4 / pi for a square wave): 2^30 in all."""
    extend = int(EXTEND16)
    total = 0
    i = 0
    while i < 2 * count:
        a = (points[i] << extend) >> extend
        total += (a * a) >> 6
        i += 1
    return total


class Pair:
    """Two reeds in `band` (a baseband.Baseband), if `found` says that there are.

    `octave`: whether the upper one is an octave above. `low_hz`, `high_hz`; `beat_hz` between them, of an octave
    between the lower one's second harmonic and the upper one. `left_over`: whether one reed leaves too much, found
    or not.
    """

    def __init__(self, band):
        self._band = band
        self._out = array("i", (0, 0))
        self.found = self.octave = self.left_over = False
        if band.count >= POINTS_LEAST:
            self._look()

    def _look(self):
        band = self._band
        whole = float(sum([_power(points, band.count) for points in band.points[: len(band.harmonics)]]))
        step = 1 / (6 * band.span_s)
        one = self._finer((self._tone(0.0),), step, ((1,), (-1,)), FINER)
        left = whole - self._explained(one)
        if left < LEAST * whole:
            return
        wide = int(min(WIDE * band.oscillator_hz, 0.25 / band.step_s) / step)
        grid = [self._tone(i * step) for i in range(-wide, wide + 1)]
        best = max(grid, key=lambda tone: self._explained((tone,)))
        if self._explained((best,)) > self._explained(one):
            one = self._finer((best,), step, ((1,), (-1,)), FINER)
            left = whole - self._explained(one)
        self.left_over = True
        pair = self._pair(grid, one[0], step)
        rest = whole - self._explained(pair)
        if rest > NOTICED * left:
            return
        pair = self._as_octave(pair, step)
        powers = self._powers(pair, 1)
        self.found = min(powers) > WEAKEST * max(powers) and sum(powers) < CANCELLED * whole
        low, high = [band.oscillator_hz + tone[0] for tone in pair]
        self.beat_hz = abs(high - low) * (2 if self.octave else 1)
        if not self.octave and low > high:
            low, high = high, low
        self.low_hz = low
        self.high_hz = 2 * high if self.octave else high

    def _pair(self, grid, one, step):
        """Two tones that explain most: the best one and another, or two around the best one, made finer."""
        near = [(one, tone) for tone in grid]
        for half in (1.5, 2.5, 4):
            low, high = self._tone(one[0] - half * step), self._tone(one[0] + half * step)
            near += ((low, high), (high, low))
        near = [(self._explained(tones), tones) for tones in near if self._apart(tones)]
        near.sort(key=lambda entry: -entry[0])
        starts = []
        for _, tones in near:
            if all([abs(tones[1][0] - other[1][0]) > 3 * step for other in starts]):
                starts.append(tones)
                if len(starts) == STARTS:
                    break
        best = max([self._finer(tones, step, ROUTES, 2) for tones in starts], key=self._explained)
        return self._finer(best, step / 4, ROUTES, FINER - 2)

    def _apart(self, tones):
        """Whether two reeds could be told apart there: one tone always, and those an octave apart."""
        return self.octave or len(tones) == 1 or abs(tones[1][0] - tones[0][0]) * self._band.span_s >= NEAREST

    def _finer(self, tones, step, routes, times):
        """Moves one or both tones as long as they explain more, by ever smaller steps."""
        best = self._explained(tones)
        for _ in range(times):
            moved = True
            while moved:
                moved = False
                for route in routes:
                    tried = [self._tone(t[0] + r * step) if r else t for t, r in zip(tones, route)]
                    explained = self._explained(tried)
                    if explained > best and self._apart(tried):
                        tones, best, moved = tried, explained, True
            step /= 2
        return tones

    def _tone(self, offset_hz):
        """(offset, its sum over the points of each harmonic as pairs of whole numbers, / 8)."""
        band, found = self._band, []
        turns = offset_hz * band.step_s
        for points, k in zip(band.points, band.harmonics):
            step = int(k * turns * 0x40000000)
            _project(points, band.count, (1 - band.count) * step // 2, step, SINE, self._out)  # phase 0 in the middle
            found.append(self._out[0])
            found.append(self._out[1])
        return offset_hz, found

    def _explained(self, tones):
        """Power that one or two tones explain in all harmonics, / 64."""
        count = self._band.count
        total = 0.0
        for h, k in enumerate(self._band.harmonics):
            a, b = tones[0][1][2 * h], tones[0][1][2 * h + 1]
            power = float(a * a + b * b)
            if len(tones) == 1 or self._silent(k):
                total += power / count
                continue
            c, d = tones[1][1][2 * h], tones[1][1][2 * h + 1]
            common = self._common(k, tones)
            left = max(count * count - common * common, 0.001 * count * count)
            total += (count * (power + c * c + d * d) - 2 * common * (a * c + b * d)) / left
        return total

    def _silent(self, harmonic):
        return self.octave and harmonic & 1

    def _common(self, harmonic, tones):
        """Sum over the points of the product of two tones (Dirichlet's kernel, real as their middle is 0)."""
        half = math.pi * harmonic * (tones[1][0] - tones[0][0]) * self._band.step_s
        below = math.sin(half)
        return math.sin(half * self._band.count) / below if abs(below) > 1e-6 else self._band.count

    def _powers(self, tones, every):
        """Power of either reed, / 64, in the harmonics (`every` 1) or in the odd ones (2) only."""
        count = self._band.count
        powers = [0.0, 0.0]
        for h, k in enumerate(self._band.harmonics):
            if self._silent(k) or (every == 2 and not k & 1):
                continue
            common = self._common(k, tones)
            left = max(count * count - common * common, 0.001 * count * count)
            for r in (0, 1):
                for i in (0, 1):
                    part = (count * tones[r][1][2 * h + i] - common * tones[1 - r][1][2 * h + i]) / left
                    powers[r] += count * part * part
        return powers

    def _as_octave(self, pair, step):
        """The same two, the upper octave last, if one of them has no part in the odd harmonics."""
        odd, all_ = self._powers(pair, 2), self._powers(pair, 1)
        shares = [o / max(a, 1e-9) for o, a in zip(odd, all_)]
        high = 0 if shares[0] < shares[1] else 1
        if shares[high] > ODD_LEFT or shares[1 - high] < ODD_LEAST:
            return pair
        self.octave = True
        return self._finer((pair[1 - high], pair[high]), step / 16, ROUTES, 3)
