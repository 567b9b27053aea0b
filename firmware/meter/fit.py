"""Polynomial fit of a phase track: mean frequency over the span, drift, and an honest standard error.

The slope of phase is frequency, its bend is drift. The points are equally spaced and equally weighted, so that
polynomials orthogonal on them (Gram's, the discrete form of Legendre's) give each coefficient as one sum.
"""

import math

CENTS = 1731.234  # cents to the natural logarithm of a frequency ratio
ORDER = 5
SIGNIFICANT = 3  # standard errors at which a term above the straight line is believed


class Fit:
    """Fit of track.phase[first:last].

    hz: mean frequency over the span, against the oscillator; se_hz: its standard error. drift_hz_s.
    rms: what is left of the phase, in turns.

    What a tone does between the ends of its span is the sum of the odd terms there. For a steady tone the
    straight line alone is the best estimate of it; the terms of third and fifth order enter only where the
    pitch really moved (the tail of a glide, a sway), because each brings its own noise along.
    """

    def __init__(self, track, first, last):
        n = last - first
        half = (n - 1) / 2
        phase = track.phase
        middle = phase[(first + last) // 2]
        mean = sum([phase[i] - middle for i in range(first, last)]) / n
        rest = [phase[i] - middle - mean for i in range(first, last)]
        below = [0.0] * n
        here = [1.0] * n
        size = float(n)
        size_below = 1.0
        terms = []  # (coefficient, sum of squares, value at the end of the span) of orders 1 .. ORDER
        for _ in range(ORDER):
            shift = size / size_below if terms else 0.0
            above = [(i - half) / half * here[i] - shift * below[i] for i in range(n)]
            below, here = here, above
            size_below, size = size, sum([p * p for p in here])
            coefficient = sum([p * y for p, y in zip(here, rest)]) / size
            rest = [y - coefficient * p for p, y in zip(here, rest)]
            terms.append((coefficient, size, here[n - 1]))
        square = sum([y * y for y in rest])
        variance = square / max(1, n - ORDER - 1) * _spread(rest, square)
        self.rms = math.sqrt(square / n)
        span = half * track.step_s  # seconds from the middle to an end
        rise, error = 0.0, 0.0
        for order in (1, 3, 5):
            coefficient, size, end = terms[order - 1]
            if order == 1 or coefficient * coefficient * size > SIGNIFICANT * SIGNIFICANT * variance:
                rise += coefficient * end
                error += variance / size * end * end
        self.hz = rise / span
        self.se_hz = math.sqrt(error) / span
        self.drift_hz_s = 2 * terms[1][0] / (span * span)


def _spread(rest, square):
    """By how much correlation between neighbouring points widens the variance of a mean (Bartlett weights).

    Never below 1.5: triangles over neighbouring blocks overlap by half.
    """
    n = len(rest)
    if square <= 0:
        return 1.5
    reach = max(1, min(12, n // 6))
    total = 1.0
    for lag in range(1, reach + 1):
        product = sum([rest[i] * rest[i + lag] for i in range(n - lag)])
        total += 2 * (1 - lag / (reach + 1)) * product / square * n / (n - lag)
    return max(1.5, total)
