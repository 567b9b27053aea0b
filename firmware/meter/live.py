"""A running figure while a reed sounds, for whoever wants to see where it is before the take is measured, and after.

Some eight times a second the last stretch of the sounding is measured as a take is, but by one harmonic alone, of the
lowest the one whose phase is the quietest. Nothing of it is kept. Once there is a take, that is the figure to look at:
it is the better one by far. The running one comes back only where the reed, sounding on, has moved off it.
"""

import math

from .coarse import RATE
from .fit import CENTS
from .mixing import TURN_BITS
from .tables import TURN
from .track import POINTS_LEAST, TOP_HZ, jitter

EVERY = 7  # blocks from one figure to the next: 112 ms
SPAN = 12 * RATE // 100  # samples that it is taken from
PERIODS = 12  # and at least so many periods
HARMONICS = 3
AWAY_CENTS = 1.0  # from its take, and twice the uncertainty: the reed has moved
LOST_CENTS = 100.0  # from its take, or from a look that does not know it: another reed, or none
_TURN = 1 << TURN_BITS


def apart(hz, other_hz):
    """Cents between them, never below 0; more than any where one is 0."""
    return abs(math.log(hz / other_hz)) * CENTS if hz and other_hz else 1e9


class Live:
    """`listener`: the ear's listen.Listener; `mixer`: its pitch.Pitch's, which has nothing to measure meanwhile.

    hz, se_cents: the last figure; se_cents is None for the first look at a sounding, which tells little but the note.
    sounding: whether the figure is of what sounds now. tone: the pitch.Tone that is to be shown instead of it, if any.
    """

    def __init__(self, listener, mixer):
        self._listener = listener
        self._mixer = mixer
        self._phases, self._guide = mixer.phases, mixer.mean
        self.hz = 0.0
        self.se_cents = None
        self.take(None)

    def take(self, tone):
        """What sounds came out as `tone`, of no further interest if that is None or has no figure."""
        self.tone = tone
        self._take = tone if tone and tone.uhz and not tone.pair else None
        self._blocks = 0
        self.sounding = False

    def follow(self):
        """A block has come in; whether there is another figure to show."""
        listener = self._listener
        if self._take and listener.phase in ("release", "wait"):
            return self._go_on()
        if listener.phase not in ("attack", "gather") or not listener.glimpse_hz:
            self.sounding = False
            return False
        if not self.sounding:
            self.take(None)
            self.sounding = True
            self.hz, self.se_cents = listener.glimpse_hz, None
            return True
        self._blocks += 1
        return self._blocks % EVERY == 0 and self._look()

    def _go_on(self):
        """There is a take; whether the reed moves off it, sounding on, or is back on it, or silent."""
        shown = self.tone
        if not self._listener.count:
            self._blocks = 0
            self.tone = self._take
        else:
            self._blocks += 1
            if self._blocks % EVERY or not self._look():
                return False
            away = max(AWAY_CENTS, 2 * self.se_cents) < apart(self.hz, self._take.hz) < LOST_CENTS
            if away and shown:
                # Slurred to, another reed's phase can run as evenly past this one's frequency.
                away = apart(self.hz, self._listener.look()) < LOST_CENTS
            self.tone = None if away else self._take
        self.sounding = self.tone is None
        return self.sounding or shown is None

    def _look(self):
        listener, mixer = self._listener, self._mixer
        period = RATE / listener.glimpse_hz
        span = max(SPAN, int(PERIODS * period))
        if listener.count < span:
            return False
        mixer.cut(listener.samples, listener.count - span, span, period)
        if mixer.count < POINTS_LEAST:
            return False
        quietest, slope = 1e9, 0.0
        for i in range(mixer.count):
            self._guide[i] = 0  # nothing guides
        for harmonic in range(1, HARMONICS + 1):
            if harmonic * listener.glimpse_hz < TOP_HZ:
                mixer.follow(harmonic, self._guide, self._phases)
                noise = jitter(self._phases, 0, mixer.count) / _TURN / harmonic
                if noise < quietest:
                    quietest, slope = noise, self._slope(mixer.count) / harmonic
        step_s = mixer.length / RATE
        self.hz = mixer.turn / (TURN * step_s) + slope / step_s
        # Of the mean of a third in white noise; neighbours, whose triangles overlap, correlate by a quarter.
        self.se_cents = quietest * math.sqrt(9 / mixer.count) / (2 * mixer.count / 3) / step_s / self.hz * CENTS
        return True

    def _slope(self, count):
        """Turns a point: from the mean of the first third to that of the last, the best that two means can do."""
        third = count // 3
        first = sum(self._phases[:third])
        last = sum(self._phases[count - third : count])
        return (last - first) / third / (count - third) / _TURN
