"""Which part of a tone is steady, and whether the breath pulled it.

A reed starts flat and glides up; a player lets go before the end; a breath may bend the pitch on the way. White
noise is not what spoils a reading, this is. The track is cut into pieces of about PIECE_S; the span begins
where, going back from the middle, a piece first differs from the ones after it, and ends where one near the end
turns away from where those before it were heading.
"""

import math

from .fit import CENTS, PHASE_ONE

PIECE_S = 0.05
STEP_CENTS = 0.3  # a piece may differ by this from the next three, noise apart
BEND_CENTS = 5.0  # a piece of the span may stray this far from its median
DIP_CENTS = 1.5  # and this far from the median of it and its four neighbours
BACK_CENTS = 0.5  # within this of it, a bend is over
TURN_CENTS = 0.8  # by which a piece near the end may miss where the four before it point
HELD = 5  # pieces for which no flat start stands still
TAIL = 0.25  # as much of the end may bend: the player was letting go
NOISE_POINTS = 16  # from which noise is told
NOISE_MOST = 3.0  # cents of noise that are granted to a piece, at most
PART = 0.3  # of the tone that must be steady
LEVEL_RATIO = 0.16  # -8 dB: points weaker than this against the median are not part of the tone
WAVER_RATIO = 4.0  # 6 dB between strongest and weakest quarter


def pieces(track, hz):
    """(pitch of each piece in cents against the oscillator, points between the pieces, standard error of one).

    The pieces share the whole track evenly.
    """
    points = track.count - 1
    size = max(3, int(PIECE_S / track.step_s + 0.5))
    count = max(1, points // size)
    edges = [j * points // count for j in range(count + 1)]
    unit = CENTS / (track.step_s * hz * PHASE_ONE)
    phase = track.phase
    cents = []
    for j in range(count):
        low, high = edges[j], edges[j + 1]
        # Least squares over the points from low to high.
        rise = 0
        for i in range((high - low + 1) // 2):
            rise += (high - low - 2 * i) * (phase[high - i] - phase[low + i])
        cents.append(rise / 2 / _square(high - low) * unit)
    # Of the quietest part, for a bend is no noise; a little too small. Too few points would tell nothing.
    parts = max(1, min(3, points // NOISE_POINTS))
    noise = min([track.noise(part * points // parts, (part + 1) * points // parts + 1) for part in range(parts)])
    return cents, edges, 1.15 * noise * PHASE_ONE / math.sqrt(_square(points // count)) * unit


def _square(size):
    """Sum of the squares of size + 1 places around their middle."""
    return size * (size + 1) * (size + 2) / 12


def median(values):
    """The middle one of some numbers, or the mean of the two middle ones."""
    ordered = sorted(values)
    middle = len(ordered) // 2
    return ordered[middle] if len(ordered) % 2 else (ordered[middle - 1] + ordered[middle]) / 2


class Steady:
    """The steady span: points first..last of the track, and `reason` (a flag's name, or "")."""

    def __init__(self, track, hz, least_s):
        self.reason = ""
        low, high = _loud(track)
        cents, edges, error = pieces(track, hz)
        low = len([edge for edge in edges if edge < low])
        high = len([edge for edge in edges if edge < high]) - 1
        need = max(3, int(least_s / (edges[-1] * track.step_s) * len(cents)), int(PART * (high - low)))
        if high - low < need:
            self.first, self.last, self.reason = 0, track.count, "short"
            return
        noise = min(4 * error, NOISE_MOST)
        begin = low
        end = high
        low, high = _settled(cents, low, high, noise), _held(cents, low, high, noise)
        if high - low < need:
            self.reason = "unsteady"
        else:
            low, high, self.reason = _unbent(cents, low, high, end, need, noise)
            if not self.reason and _stayed(cents[begin:low], median(cents[low:high]), noise):
                self.reason = "pulled"
        self.first = edges[low]
        self.last = edges[high] + 1


def _loud(track):
    """First and last + 1 of the points that belong to the tone by level."""
    floor = LEVEL_RATIO * median([track.power[i] for i in range(track.count)])
    low, high = 0, track.count
    while low < high and track.power[low] < floor:
        low += 1
    while high > low and track.power[high - 1] < floor:
        high -= 1
    return low, high


def _settled(cents, low, high, noise):
    """Drops the head while it glides: goes back from the middle until a piece differs from the three after it."""
    first = (low + high) // 2
    while first > low:
        after = cents[first : min(high, first + 3)]
        if abs(cents[first - 1] - sum(after) / len(after)) > STEP_CENTS + noise:
            break
        first -= 1
    return first


def _held(cents, low, high, noise):
    """Drops the tail, if short, from where the pitch turns away from where it was heading."""
    for i in range(max(low + 4, high - int(TAIL * (high - low))), high):
        near, far = cents[i - 1] + cents[i - 2], cents[i - 3] + cents[i - 4]
        if abs(cents[i] - near / 2 - (near - far) * 3 / 8) > TURN_CENTS + 2 * noise:
            return i
    return high


def _unbent(cents, low, high, end, need, noise):
    """Drops a bent head or tail; gives a reason where the bend lies between, is too long or leaves too little.

    `end`: where the tone ended before any of its tail was dropped.

    "pulled" where the pitch went one way only, as a breath bends it, "unsteady" where it went to and fro.
    """
    while True:
        middle = median(cents[low:high])
        away = [
            abs(cents[i] - middle) > BEND_CENTS + noise
            or abs(cents[i] - median(cents[max(low, i - 2) : min(high, i + 3)])) > DIP_CENTS + noise
            for i in range(low, high)
        ]
        if not any(away):
            return low, high, ""
        # A bend is cut off to where the pitch is back, not only to where it is within bounds.
        head, tail = low, high
        while away[0] and head < high - 1 and abs(cents[head] - middle) > BACK_CENTS + noise:
            head += 1
        while away[-1] and tail > head + 1 and abs(cents[tail - 1] - middle) > BACK_CENTS + noise:
            tail -= 1
        if any(away[head - low : tail - low]) or end - tail > TAIL * (end - low):
            return low, high, "pulled" if _one_way(cents[low:high], noise) else "unsteady"
        if tail - head < need:
            return low, high, "unsteady"
        low, high = head, tail


def _stayed(head, middle, noise):
    """Whether the pitch had already held still before the span: no flat start, but a bend.

    For two pieces where it is in the span, and left it again; or for HELD pieces far from it: a flat start climbs.
    """
    stayed = 0
    for c in head:
        if abs(c - middle) <= BACK_CENTS + noise:
            stayed += 1
        elif stayed >= 2 and abs(c - middle) > BEND_CENTS + noise:
            return True
        elif stayed < 2:
            stayed = 0
    for i in range(len(head) - HELD + 1):
        held = head[i : i + HELD]
        if max(held) - min(held) < STEP_CENTS + noise / 2 and abs(held[0] - middle) > BEND_CENTS + noise:
            return True
    return False


def _one_way(cents, noise):
    """Whether the pitch strayed to one side only of where it was in the first third."""
    start = median(cents[: max(1, len(cents) // 3)])
    return max(cents) - start <= BEND_CENTS + noise or start - min(cents) <= BEND_CENTS + noise


def wavering(track, first, last):
    """Whether the level of the span rose and fell by more than 6 dB between its quarters."""
    quarter = max(1, (last - first) // 4)
    means = []
    for q in range(4):
        total = 0.0
        for i in range(first + q * quarter, first + (q + 1) * quarter):
            total += track.power[i]
        means.append(total)
    return max(means) > WAVER_RATIO * min(means)


def ripple(track, first, last):
    """RMS ripple of the level over the span in nepers, its straight trend removed."""
    n = last - first
    half = (n - 1) / 2
    logs = [0.5 * math.log(track.power[i] + 1e-9) for i in range(first, last)]
    mean = sum(logs) / n
    num = den = 0.0
    for i in range(n):
        num += (i - half) * (logs[i] - mean)
        den += (i - half) * (i - half)
    total = 0.0
    for i in range(n):
        e = logs[i] - mean - num / den * (i - half)
        total += e * e
    return math.sqrt(total / n)
