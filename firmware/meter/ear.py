"""The listening chain from microphone words to a measured tone, for whoever has a microphone."""

import sys
from array import array

from . import blocks
from .blocks import BLOCK
from .listen import Listener
from .pitch import Pitch

# Clipped tops make harmonics above half the sample rate, which come back as strangers among the tone's own and beat
# with them too slowly to look like noise. What they add grows with the share of clipped samples.
CLIPPED_WIDENS = 5

# Bytes in one piece that a company.Company wants, with the modules that it is made of. Modules that come in only half
# leave the rest of a board's memory in pieces too small even for a record of the tone.
ROOM = 16384


def _company(pitch):
    """A company.Company. What it is made of is in memory only as long as it is needed: a board has none to spare."""
    try:
        bytearray(ROOM)
        from .company import Company

        return Company(pitch)
    finally:
        package = sys.modules["meter"]
        for name in ("company", "pair", "baseband"):
            sys.modules.pop("meter." + name, None)
            if hasattr(package, name):
                delattr(package, name)


class Ear:
    """`microphone`: the board's, started. `samples`: see listen.Listener.

    Call `step` until it returns True, then `tone`; `listener` has the phase. `both` may be set: two reeds are to sound
    together, so that every tone is heard to its end.

    A tone that has not settled is listened to further while it sounds; only if that brings neither a figure nor two
    reeds does it come out without one, as it was heard first.
    """

    def __init__(self, microphone, samples):
        self._microphone = microphone
        self._words = array("i", (0 for _ in range(BLOCK)))
        self._samples = bytearray(2 * BLOCK)
        self._state = blocks.new_state()
        self._pitch = Pitch()
        self.both = False
        self._company = None  # while a tone is looked at in which two reeds may sound
        self.listener = Listener(self._pitch, samples)
        self.level = blocks.SILENT  # of the last block, in 1/100 dB from full scale
        self._unsettled = None
        self._begun = False

    def live(self):
        """A live.Live of what sounds."""
        from .live import Live

        return Live(self.listener, self._pitch.track.mixer)

    def step(self, expected_hz=0.0):
        """Takes one block from the microphone; True when there is a tone to be had from `tone`."""
        lost = self._microphone.read(self._words)
        if not self._begun:
            self._begun = True
            blocks.begin(self._words, self._state)
        blocks.narrow(self._words, BLOCK, self._samples, self._state)
        self.level = blocks.level(self._state, BLOCK)
        position = self._microphone.count - BLOCK
        clipped = self._state[blocks.CLIPPED]
        ready = self.listener.feed(self._samples, position, self.level, clipped, lost, expected_hz)
        if self.listener.phase == "hold" and not self._company.feed(self._samples, position, lost, self.listener):
            self.listener.heard()
            return True
        if ready:
            return True
        return self._unsettled is not None and self.listener.phase == "release"

    def drop(self):
        """Forgets the tone that is ready."""
        self._unsettled = self._company = None
        self.listener.measured()

    def tone(self, expected_hz=0.0):
        """The tone that `step` announced (pitch.Tone, its `start` counted since power-up), or None: not settled yet."""
        tone, listener = None, self.listener
        if listener.phase == "measure" and self._company:
            tone = self._company.end(listener)
            listener.measured()
        elif listener.phase == "measure":
            tone = self._pitch.measure(listener.samples, listener.count, expected_hz, listener.glimpse_hz)
            tone.start += listener.position
            company = self._in_company(tone)
            if not tone.hz:
                tone.hz = listener.glimpse_hz  # no figure, but enough to tell whose sounding it was
            tone.se_cents *= 1 + CLIPPED_WIDENS * listener.clipped()
            for flag in listener.flags:
                tone.flags.append(flag)
            if company and not company.enough:
                self._company = company
                listener.hold()
                return None
            if company:
                tone = company.end(listener)
            elif "unsteady" in tone.flags and listener.go_on():
                self._unsettled = self._unsettled or tone
                return None
            listener.measured()
        self._company = None
        if self._unsettled and not (tone and (tone.uhz or tone.band)):
            tone = self._unsettled
        self._unsettled = None
        return tone

    def _in_company(self, tone):
        """The Company that holds `tone`, just measured; None where a reed sounded alone."""
        track = self._pitch.track
        if not track.oscillator_uhz:
            return None  # it came to nothing before
        if not (self.both or "two-reeds" in tone.flags or "wavering" in tone.flags) and track.alone():
            return None
        try:
            company = _company(self._pitch)
        except MemoryError:
            return None  # it stands as it was measured
        company.notice(tone, self.listener, self.both)
        return company if company.tone else None
