"""Which part of a tone is steady, and whether the breath pulled it.

A reed starts flat and glides up; a player lets go before the end; a breath may bend the pitch on the way. White
noise is not what spoils a reading, this is. The track is cut into pieces of about PIECE_S; the span begins
where, going back from the middle, a piece first differs from the ones after it, and ends likewise.
"""

import math

from .fit import CENTS

PIECE_S = 0.05
STEP_CENTS = 0.3  # a piece may differ by this from the next three, noise apart
BEND_CENTS = 5.0  # a piece of the span may stray this far from its median
BACK_CENTS = 1.5
TAIL = 0.25  # as much of the end may bend: the player was letting go
NOISE_MOST = 3.0  # cents of noise that are granted to a piece, at most
LEVEL_RATIO = 0.16  # -8 dB: points weaker than this against the median are not part of the tone
WAVER_RATIO = 4.0  # 6 dB between strongest and weakest quarter


def pieces(track, hz):
    """(pitch of each piece in cents against the oscillator, points a piece, standard error of one)."""
    size = max(3, int(PIECE_S / track.step_s + 0.5))
    count = (track.count - 1) // size
    cents = []
    for j in range(count):
        low = j * size
        # Least squares over size + 1 points.
        half = size / 2
        num = den = 0.0
        for i in range(size + 1):
            num += (i - half) * track.phase[low + i]
            den += (i - half) * (i - half)
        cents.append(num / den / track.step_s / hz * CENTS)
    noise = _noise(track)
    error = noise / math.sqrt(den) / track.step_s / hz * CENTS if count else 0.0
    return cents, size, error


def _noise(track):
    """RMS noise of one point of the joined track, in turns (second differences, as in track.jitter)."""
    phase = track.phase
    total = 0.0
    for i in range(2, track.count - 2):
        bend = phase[i - 2] - 2 * phase[i] + phase[i + 2]
        total += bend * bend
    return math.sqrt(total / (6 * max(1, track.count - 4)))


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
        cents, size, error = pieces(track, hz)
        low = (low + size - 1) // size
        high = min(len(cents), high // size)
        need = max(3, int(least_s / (size * track.step_s)))
        if high - low < need:
            self.first, self.last, self.reason = 0, track.count, "short"
            return
        noise = min(4 * error, NOISE_MOST)
        begin = low
        low, high = _settled(cents, low, high, noise)
        if high - low < need:
            self.reason = "unsteady"
        else:
            low, high, self.reason = _unbent(cents, low, high, need, noise)
            if not self.reason and _came_back(cents[begin:low], median(cents[low:high]), noise):
                self.reason = "pulled"
        self.first = low * size
        self.last = track.count if high == len(cents) else high * size + 1


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
    return first, high


def _unbent(cents, low, high, need, noise):
    """Drops a bent head or tail; gives a reason where the bend lies between, is too long or leaves too little.

    "pulled" where the pitch went one way only, as a breath bends it, "unsteady" where it went to and fro.
    """
    while True:
        middle = median(cents[low:high])
        away = [abs(c - middle) > BEND_CENTS + noise for c in cents[low:high]]
        if not any(away):
            return low, high, ""
        # A bend is cut off to where the pitch is back, not only to where it is within bounds.
        head, tail = low, high
        while away[0] and head < high - 1 and abs(cents[head] - middle) > BACK_CENTS + noise:
            head += 1
        while away[-1] and tail > head + 1 and abs(cents[tail - 1] - middle) > BACK_CENTS + noise:
            tail -= 1
        if any(away[head - low : tail - low]) or high - tail > TAIL * (high - low):
            return low, high, "pulled" if _one_way(cents[low:high], noise) else "unsteady"
        if tail - head < need:
            return low, high, "unsteady"
        low, high = head, tail


def _came_back(head, middle, noise):
    """Whether the pitch had stayed where it is in the span, for two pieces, and left it: no flat start, but a bend."""
    stayed = 0
    for c in head:
        if abs(c - middle) <= BACK_CENTS + noise:
            stayed += 1
        elif stayed >= 2 and abs(c - middle) > BEND_CENTS + noise:
            return True
        elif stayed < 2:
            stayed = 0
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
