"""Whether a reed sounded alone, and if not, the longest stretch of it that can be had.

A tone is measured from its first second at most. That may be too short to tell two reeds apart, so as soon as two are
noticed the tone is listened to until it ends, or until more of it would tell no more; what is kept of it meanwhile is
its baseband. On a board samples are lost while the tone is measured: then the baseband begins after that, unless the
first second was the longer piece after all.

A board has memory for this only as long as it is needed: see ear.py.
"""

from .baseband import Baseband
from .blocks import BLOCK
from .pair import Pair
from .track import BANK_SHARE, TOP_HZ

LET_GO = 6 * BLOCK  # samples before the end in which the reeds may already have been released
NEAR = 0.01  # of the pitch: so near the coarse period's the measured one must be, or beats led it astray
STRAY_RADIANS = 0.03  # by which a low harmonic strays from the others where another reed must be sounding
EXPLAINED = ("unsteady", "pulled", "disagree", "wavering", "two-reeds")  # flags that two reeds are reason enough for
SURE, SURE_OCTAVE = 0.5, 0.25  # beats in what was heard: with fewer it may as well have been the breath
COUNTED = 0.31  # of fewer nobody knows how few: pair.NEAREST


class Company:
    """`pitch`: the pitch.Pitch that has just measured. `tone`: the one that is being held, or None."""

    def __init__(self, pitch):
        self._track = pitch.track
        self._band = Baseband(pitch.scratch)
        self.tone = None

    def notice(self, tone, listener, expected):
        """Takes `tone`, just measured from listener.samples, as one to be held if two reeds may be in it, or if they
        are `expected` to be."""
        self._expected = expected
        track = self._track
        self._strays = track.sound and 6.28 * track.apart(0, track.count) > STRAY_RADIANS
        self._hz = tone.hz
        self._begin()
        self._band.feed(listener.samples, 0, listener.count)
        pair = Pair(self._band)
        self._strays = self._strays or (pair.found and not tone.uhz)
        octave = tone.uhz and track.octave_cents and track.share_beside(2) < 1 - BANK_SHARE
        if expected or pair.found or octave or (pair.left_over and self._strays) or "two-reeds" in tone.flags:
            self.tone = tone
            self._next = listener.position + listener.count

    @property
    def enough(self):
        """Whether more of it would tell no more."""
        return self._band.full

    def feed(self, block, position, lost, listener):
        """One block more of the tone that is held; False when that is enough."""
        if lost or position != self._next:
            self._begin()
        self._band.feed(block, 0, BLOCK)
        self._next = position + BLOCK
        return not self.enough

    def end(self, listener):
        """The tone that was held, with what is known now: `pair` and `band`, if two reeds sounded.

        Where they have hardly beaten there is no `pair`, but its figure is that of neither, and the flag says so; the
        band's `beat_hz` is how fast they beat, 0 where nobody knows.
        """
        tone, band = self.tone, self._band
        self.tone = None
        if not band.full:
            band.drop(LET_GO)
            if band.blocks * band.length < listener.count:
                self._begin()
                band.feed(listener.samples, 0, listener.count)
        pair = Pair(band)
        beats = pair.found and pair.beat_hz * band.span_s
        if beats >= (SURE_OCTAVE if pair.octave else SURE):
            tone.pair = pair
        slow = pair.found and not pair.octave  # an octave's lower reed has its own figure from the odd harmonics
        band.beat_hz = pair.beat_hz if slow and beats > COUNTED else 0
        if tone.pair or (pair.left_over and self._strays and (slow or not tone.uhz)):
            tone.flags = [flag for flag in tone.flags if flag not in EXPLAINED] + ["two-reeds"]
        if self._expected or "two-reeds" in tone.flags:
            tone.band = band
        return tone

    def _begin(self):
        """The oscillator goes to the pitch that was measured, which is nearer to a reed than the coarse period's."""
        track = self._track
        hz = track.oscillator_uhz / 1e6
        if abs(self._hz - hz) < NEAR * hz:
            hz = self._hz
        self._band.begin(hz, _telling(track), track.most)


def _telling(track):
    """Three harmonics that tell most of two reeds: the second, for one an octave above, and an odd one among them."""
    hz = track.oscillator_uhz / 1e6
    worth = {}
    for k in (1, 2, 3, 4):
        if k * hz < TOP_HZ:
            worth[k] = k * k * track.strength[k - 1] if k <= len(track.strength) else 0.0
    if len(worth) < 4:
        return tuple(sorted(worth))
    odd = 1 if worth[1] > worth[3] else 3
    if track.octave_cents:
        return tuple(sorted((odd, 2, 4)))
    return tuple(sorted((odd, 2, max((4 - odd, 4), key=lambda k: worth[k]))))
