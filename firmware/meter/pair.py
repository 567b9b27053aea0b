"""Notices two reeds in the baseband of a tone, and tells where each lies.

Two places are looked for at which tones explain most of the power in all harmonics at once: of harmonic k they lie k
times as far from the oscillator. Of two reeds an octave apart the upper one sounds in the even harmonics only.

A place is a whole number: so many 1024ths of a turn the tone gains on the oscillator from the first point to the last.
So its phase is 0 in the middle if it begins at an entry of the sine table, and `mix`, the board's fastest loop, can
sum it. The tone that explains most is found in a grid and taken out; where most is left the second may lie. From there,
and from either side of the first one, both are moved together by Gauss-Newton steps.

This is for the screen, and to know that a tone is worth keeping; the host does better from the same points.
"""

import math
from array import array

from .baseband import mix
from .tables import SINE
from .word import EXTEND

POINTS_LEAST = 12
PLACES = 1024  # to a turn over the span
GRID = 170  # places: 1/6 turn
WIDE = 0.0264  # of the pitch, 45 cents: so far from the oscillator a reed is looked for
NEAREST = 307  # places: 0.3 beats that two reeds must make in the span
AROUND = 300  # places on either side of the one that explains most alone: two reeds may make it between them
LEAST = 0.003  # of the power: one reed that leaves less is alone, or nobody can tell; as much a breath may leave
NOTICED = 0.35  # two reeds leave at most this share of what one leaves
ODD_LEFT = 0.02  # of its power: who has less in the odd harmonics is an octave above ...
ODD_LEAST = 0.1  # ... if the other has this much there
WEAKEST = 0.01  # of the louder one's power: what is below -20 dB may be the breath's
CANCELLED = 4.0  # times the power of both together that they may have apart: with more they stand for a bend
STEPS = 5
FAR = 128  # places to go in one step: half as far as the fourth harmonic's summit is from its foot
DAMPED = 1.01  # where two reeds are nearly one their steps would be without bounds
DOWN = 12  # right shift of the products in `mix`: 96 sums of up to 96 of them stay below 2^31


@micropython.viper
def _scan(powers: ptr32, tones: int, plan: object, points: object, sums: object, sine: object):
    """powers[i] += |sum of points[j] exp(-i phase) / 256|^2 for `tones` tones.

    plan: that of `mix` for the first one, then by how much the step and the first entry rise to the next one's.
    A point of twice 16 bits is below 2^15.5, and 95 of them give less than 2^14.1: the power of three is below 2^30.
    """
    extend = int(EXTEND)
    p = ptr32(plan)
    s = ptr32(sums)
    i = 0
    while i < tones:
        p[1] = 2
        mix(points, plan, sine, sums)
        a = (((s[0] + s[6]) << extend) >> extend) >> 11
        b = (((s[4] - s[2]) << extend) >> extend) >> 11
        powers[i] = powers[i] + a * a + b * b
        p[3] = (p[3] + p[7]) & 0x3FFFFFFF
        p[6] = (p[6] + p[8]) & 2047
        i += 1


class Pair:
    """Two reeds in `band` (a baseband.Baseband), if `found` says that there are.

    `octave`: whether the upper one is an octave above. `low_hz`, `high_hz`; `beat_hz` between them, of an octave
    between the lower one's second harmonic and the upper one. `left_over`: whether one reed leaves too much, found
    or not.
    """

    def __init__(self, band):
        self.found = self.octave = self.left_over = False
        if band.count >= POINTS_LEAST:
            self._look(band)
            self._band = None  # a tone keeps its pair

    def _look(self, band):
        count = band.count
        self._plan = array("i", (0, 2, count, 0, 0, DOWN, 0, 0, 0))
        self._sums = array("i", (0 for _ in range(8)))
        self._band = [  # harmonics and their points: all real parts, then all imaginary ones
            (k, array("h", (points[i] for part in (0, 1) for i in range(part, 2 * count, 2))))
            for k, points in zip(band.harmonics, band.points)
        ]
        whole = sum([sum([v * v >> 6 for v in points]) for _, points in self._band]) * 4096.0 * count
        one = self._finer([0])
        if whole - one[0] <= LEAST * whole:
            return
        self.left_over = True
        unit = 1 / (PLACES * band.span_s)
        wide = int(min(WIDE * band.oscillator_hz, 0.25 / band.step_s) / (GRID * unit))
        one = max(one, self._finer([self._top(wide, None)]))
        place = one[1][0]
        other = self._top(wide, place)
        pair = self._finer([place, other]) if abs(other - place) >= NEAREST else one
        if whole - pair[0] > LEAST * whole:
            pair = max(pair, self._finer([place - AROUND, place + AROUND]))
        if len(pair[1]) < 2 or whole - pair[0] > NOTICED * (whole - one[0]):
            return
        shares = [odd / (even + odd + 1e-9) for even, odd in pair[3]]
        if min(shares) <= ODD_LEFT and max(shares) >= ODD_LEAST:
            self.octave = True
            low, high = pair[1]
            pair = self._finer([high, low] if shares[0] < shares[1] else [low, high])
        powers = [even + odd for even, odd in pair[3]]
        self.found = min(powers) > WEAKEST * max(powers) and sum(powers) < CANCELLED * whole
        low, high = pair[1]
        self.beat_hz = abs(high - low) * unit * (1 + self.octave)
        if not self.octave and low > high:
            low, high = high, low
        self.low_hz = band.oscillator_hz + low * unit
        self.high_hz = (band.oscillator_hz + high * unit) * (1 + self.octave)

    def _top(self, wide, without):
        """The place at which one tone explains most, of `wide` in the grid on either side of the oscillator.

        without: place of a tone to be taken out first, or None.
        """
        plan = self._plan
        powers = array("i", (0 for _ in range(2 * wide + 1)))
        for k, points in self._band:
            if without is not None:
                points = self._without(k * without, array("h", points))
            self._aim(k * GRID)
            plan[7], plan[8] = plan[3], plan[6]
            self._aim(-k * GRID * wide)
            _scan(powers, len(powers), plan, points, self._sums, SINE)
        return GRID * (max(range(len(powers)), key=lambda i: powers[i]) - wide)

    def _without(self, turn, points):
        """A quarter of the points, which then fit 16 bits in any case, without the tone of a harmonic."""
        count = self._plan[2]
        a, b, _, _ = self._sum(turn, points)
        a = int(a / (8 * count))
        b = int(b / (8 * count))
        phase = self._plan[6] << 18
        step = self._plan[3] >> 1
        for i in range(count):
            s = SINE[phase >> 18]
            c = SINE[(phase >> 18) + 512]
            points[i] = (points[i] - ((a * c - b * s) >> 15)) >> 2
            points[i + count] = (points[i + count] - ((a * s + b * c) >> 15)) >> 2
            phase = (phase + step) & 0x1FFFFFFF
        return points

    def _finer(self, places):
        """What `_fit` tells of where the tones explain most, a few steps on from one or two places."""
        best = (0.0,)
        for _ in range(STEPS):
            found = self._fit(places)
            best = max(best, found)
            if found[2] == places:
                break
            places = found[2]
        return best

    def _fit(self, places):
        """(power that tones at one or two places explain, places, next ones, even and odd power of either).

        In every harmonic the tones are given the heights a + ib and c + id that explain most. Places that explain more
        follow from the points times their distance from the middle, p + iq and s + it. What two tones have in common
        is Dirichlet's kernel D of x, half the angle between them from point to point, and the means of distance times
        sine and of its square times cosine are -D'/2 and -D''/4. Powers are 64 count times those of the points.
        """
        count = self._plan[2]
        square = (count * count - 1) / 12
        turn = math.pi / (PLACES * (count - 1))
        powers = [[0.0, 0.0], [0.0, 0.0]]
        total = g = h = ac = 0.0
        aa = cc = 1e-3
        for k, points in self._band:
            a, b, p, q = self._sum(k * places[0], points)
            w = a * a + b * b
            total += w
            if len(places) == 1 or (self.octave and k & 1):
                g += k * (a * q - b * p)
                aa += k * k * w * square
            else:
                c, d, s, t = self._sum(k * places[1], points)
                x = turn * (k * (places[1] - places[0]) or 1)
                below = math.sin(x)
                steep = math.cos(x) / below
                common = math.sin(count * x) / (count * below)
                mean = (common * steep - math.cos(count * x) / below) / 2
                cross = 3 * square * common - mean * steep
                own = max(1 - common * common, 0.001)
                a, c = (a - common * c) / own, (c - common * a) / own
                b, d = (b - common * d) / own, (d - common * b) / own
                w = a * a + b * b
                y = c * c + d * d
                m = a * c + b * d
                total += y * own
                powers[1][k & 1] += y
                g += k * (a * q - b * p - mean * m)
                h += k * (c * t - d * s + mean * m)
                mean *= mean / own
                aa += k * k * w * (square - mean)
                cc += k * k * y * (square - mean)
                ac += k * k * m * (cross - mean * common)
            powers[0][k & 1] += w
        aa *= DAMPED
        cc *= DAMPED
        step = (g - ac / cc * h) / (aa - ac / cc * ac)
        to = self._moved(places, step, (h - ac * step) / cc)
        apart = to[-1] - to[0]
        if len(to) == 2 and not self.octave and abs(apart) < NEAREST:
            # Nearer they could not be told apart: then so near they stay, and are moved together.
            apart = (NEAREST if apart > 0 else -NEAREST) - places[1] + places[0]
            step = (g + h - 2 * turn * apart * (ac + cc)) / (aa + ac + ac + cc)
            to = self._moved((places[0], places[1] + apart), step, step)
        return total, places, to, powers

    def _moved(self, places, *steps):
        """The places, gone on by so many radians a point, but not too far."""
        radian = PLACES * (self._plan[2] - 1) / (2 * math.pi)
        return [place + int(max(-FAR, min(FAR, round(step * radian)))) for place, step in zip(places, steps)]

    def _sum(self, turn, points):
        """Sum of points[j] exp(-i phase), real and imaginary, then of the same times j from the middle; all times 8.

        The phase rises by turn / 1024 turns from the first to the last point, and is 0 in the middle.
        """
        sums = self._sums
        self._aim(turn)
        self._plan[1] = 2
        mix(points, self._plan, SINE, sums)
        a, b = float(sums[0] + sums[6]), float(sums[4] - sums[2])
        middle = (self._plan[2] + 1) / 2
        return a, b, middle * a - (sums[1] + sums[7]), middle * b - (sums[5] - sums[3])

    def _aim(self, turn):
        """Lets `mix` begin with that phase."""
        plan = self._plan
        plan[6] = -turn & 2047
        turn <<= 10  # and 10 more, but no whole number on the way is so large that it would take memory
        whole = turn // (plan[2] - 1)
        rest = turn - whole * (plan[2] - 1)
        plan[3] = ((whole & 0xFFFFF) << 10) + (rest << 10) // (plan[2] - 1)
