"""Fit of a phase track: mean frequency over the span, drift, and an honest standard error.

The slope of phase is frequency, its bend is drift. The points are first averaged in groups, which costs the slope
next to nothing (a part in groups squared) and saves most of the arithmetic.
"""

import math

CENTS = 1731.234  # cents to the natural logarithm of a frequency ratio
GROUPS = 24
WANDER = 1.2  # what is left of the phase beyond this many times its noise is the pitch's own movement
MOVED = 3  # and beyond this many times, movement that is no chance
MARGIN = 9  # (1 - sqrt(3/5)) / 2 of the points
STUDENT = 1.15  # two standard errors shall hold 95 %, estimated from some 20 groups and cut at whole blocks as they are
PHASE_ONE = 1 << 24  # a turn, in phase tracks


class Groups:
    """Points first..last of `phase` (array("i"), PHASE_ONE to the turn) in at most GROUPS groups.

    means[i]: their phases in turns, against a straight line that rises by `line` turns a point; places[i]: their
    middles, in points from the middle of the span; sizes[i]: points in each. Both are the same from either end.
    """

    def __init__(self, phase, first, last):
        n = last - first
        count = min(n, GROUPS)
        # Against a line small numbers are left, which keep their digits in single precision.
        line = (phase[last - 1] - phase[first]) // (n - 1)
        base = phase[first]
        self.line = line / PHASE_ONE
        self.means, self.places, self.sizes = [], [], []
        low = 0
        for group in range(1, count + 1):
            high = group * n // count if 2 * group <= count else n - (count - group) * n // count
            total = 0
            for i in range(low, high):
                total += phase[first + i] - base - i * line
            self.means.append(total / (high - low) / PHASE_ONE)
            self.places.append((low + high - n) / 2)
            self.sizes.append(high - low)
            low = high


class Fit:
    """Fit of track.phase[first:last].

    hz: mean frequency over the span less `margin` points at either end, against the oscillator; se_hz: its standard
    error. drift_hz_s. rms: what is left of the phase, in turns.

    Of a steady or evenly drifting tone the straight line is the best estimate, the one that meets the Cramer-Rao bound.
    It weighs the pitch by a parabola that is zero at the ends. To second order that is the plain mean over the middle
    part whose square width is the same, the root of 3/5 of the whole: what still glided at the ends is not in it.
    Where the pitch clearly went to and fro, a tremor or the rest of a glide, the line is not the mean; then the phase
    from end to end is, at the price of the noise of two points, and taken where that is less.
    """

    def __init__(self, track, first, last):
        n = last - first
        groups = Groups(track.phase, first, last)
        means, places, sizes = groups.means, groups.places, groups.sizes
        count = len(means)
        square = fourth = mean = product = bend = 0.0
        for size, place, y in zip(sizes, places, means):
            p = place * place
            square += size * p
            fourth += size * p * p
            mean += size * y
            product += size * place * y
            bend += size * p * y
        flat = square / n
        slope = product / square
        # The parabola that is orthogonal to the line.
        bend = (bend - flat * mean) / (fourth - flat * square)
        mean /= n
        rest = [y - mean - slope * p - bend * (p * p - flat) for p, y in zip(places, means)]
        left = sum([size * y * y for size, y in zip(sizes, rest)])
        self.rms = math.sqrt(left / n)
        points = n / count
        noise = track.noise(first, last, 1)
        # A group's mean in white noise: neighbouring points, whose triangles overlap, correlate by a quarter.
        white = noise * noise * (1.5 * points - 0.5) / (points * points)
        wander = max(0.0, left / n - WANDER * white)
        line = left / max(1, count - 3) * _spread(rest, points) / square + 2 * wander / (n * n)
        ends = 2 * noise * noise / (n * n)
        rise = groups.line + slope
        self.margin = n // MARGIN
        if ends < line and left / n > MOVED * white:
            self.margin = 0
            rise, line = (track.phase[last - 1] - track.phase[first]) / PHASE_ONE / (n - 1), ends
        self.hz = rise / track.step_s
        self.se_hz = STUDENT * math.sqrt(line) / track.step_s
        self.drift_hz_s = 2 * bend / (track.step_s * track.step_s)


def _spread(rest, points):
    """By how much correlation between neighbouring groups widens the variance of a mean (Bartlett weights).

    points: in a group. Never below what overlapping triangles make of white noise.
    """
    n = len(rest)
    least = 1.5 * points / (1.5 * points - 0.5)
    square = sum([y * y for y in rest])
    if square <= 0:
        return least
    reach = max(1, min(4, n // 6))
    total = 1.0
    for lag in range(1, reach + 1):
        product = sum([rest[i] * rest[i + lag] for i in range(n - lag)])
        total += 2 * (1 - lag / (reach + 1)) * product / square * n / (n - lag)
    return max(least, total)
