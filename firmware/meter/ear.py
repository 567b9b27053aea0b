"""The listening chain from microphone words to a measured tone, for whoever has a microphone."""

from array import array

from . import blocks
from .blocks import BLOCK
from .listen import Listener
from .pitch import Pitch


class Ear:
    """`microphone`: the board's, started. `listener` shows the phase; `step` until it says so, then `tone`."""

    def __init__(self, microphone):
        self._microphone = microphone
        self._words = array("i", (0 for _ in range(BLOCK)))
        self._samples = array("h", (0 for _ in range(BLOCK)))
        self._state = blocks.new_state()
        self._pitch = Pitch()
        self.listener = Listener(self._pitch)
        self.level_db = -120.0

    def step(self, expected_hz=0.0):
        """Takes one block from the microphone; True when a tone is ready to be measured."""
        lost = self._microphone.read(self._words)
        blocks.narrow(self._words, BLOCK, self._samples, self._state)
        self.level_db = blocks.level_dbfs(self._state, BLOCK)
        position = self._microphone.count - BLOCK
        clipped = self._state[blocks.CLIPPED]
        return self.listener.feed(self._samples, position, self.level_db, clipped, lost, expected_hz)

    def tone(self, expected_hz=0.0):
        """Measures the tone that is ready (pitch.Tone, with the listener's flags), then waits for quiet."""
        listener = self.listener
        tone = self._pitch.measure(listener.samples, listener.count, expected_hz)
        for flag in listener.flags:
            tone.flags.append(flag)
        listener.measured()
        return tone
