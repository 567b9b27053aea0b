"""The settings, a page about the meter, and one on which it tries its own parts.

up, down: another line    do: change this one, up and down then do it (held, by ten steps), do again keeps it
on the page about the meter    do: the trial; any other key leads back
in the trial    each key is told as it is pressed; pressed once more it leads back
"""

import gc

from wire.errors import WireError

from . import mode
from .settings import SETTINGS
from .watch import TICKS

LOOK_MS = 250
PATTERN = bytes(range(256)) + b"\x00\xff\x55\xaa" * 64
_TRIAL = "trial"

ABOUT = len(SETTINGS)  # the line after the settings


class Mode(mode.Mode):
    """`chosen`: line. `changing`: whether up and down change it. `facts`: of the page about the meter, None while it is
    not up: (heap free, journal free, records, cell in mV or None, clock error in ppb). trial: of the page on which the
    meter tries its parts, None while that is not up: [whether the display answers, whether the microphone gives
    samples, whether flash gives back what was written, level of the room in 1/100 dB, keys pressed so far, keys
    that are down just now]."""

    listens = False

    def __init__(self, meter):
        self.meter = meter
        self.settings = meter.settings
        self.chosen = 0
        self.changing = False
        self.facts = self.trial = None

    def press(self, key, press, now_ms):
        if self.trial:
            self._pressed(key)
        elif self.facts:
            self.facts = None
            if key == "do":
                self._try()
        elif key == "do":
            self._do()
        elif self.changing:
            steps = (10 if press == "hold" else 1) * (1 if key == "up" else -1)
            self._change(SETTINGS[self.chosen], steps)
        else:
            self.chosen = (self.chosen + (1 if key == "down" else -1)) % (ABOUT + 1)
        return ""

    def follow(self, now_ms):
        """What the room's level is, and which keys are down, is told anew four times a second."""
        if not self.trial or not TICKS & (now_ms - self._looked_ms) >= LOOK_MS:
            return False
        self._looked_ms = now_ms
        self._look()
        return True

    def _try(self):
        self._looked_ms = 0
        self.trial = [not self.meter.screen.missing, True, self._kept(), 0, (), ()]
        self._look()

    def _look(self):
        meter, trial = self.meter, self.trial
        trial[1], trial[3], trial[5] = not meter.microphone.missing, meter.ear.level, meter.keys.down()

    def _kept(self):
        """Whether a file comes back from flash as it was written."""
        files = self.meter.files
        try:
            with files.writing() as pen:
                pen.replace(_TRIAL, PATTERN)
                same = files.read(_TRIAL) == PATTERN
                pen.remove(_TRIAL)
                return same
        except WireError:
            return False

    def _pressed(self, key):
        if key in self.trial[4]:
            self.trial = None
        else:
            self.trial[4] += (key,)

    def leave(self):
        if self.changing:
            self.settings.keep()

    def _change(self, setting, steps):
        """So many steps on: held at the ends of a range, round and round where there are but a few."""
        name, low, high, step, _ = setting
        value = getattr(self.settings, name) + steps * step
        if (high - low) // step < 8:
            value = low + (value - low) % (high - low + step)
        setattr(self.settings, name, max(low, min(high, value)))

    def _do(self):
        if self.chosen < ABOUT:
            if self.changing:
                self.settings.keep()
            self.changing = not self.changing
            return
        gc.collect()
        journal = self.meter.journal
        records = journal.next_seq - journal.first_seq
        self.facts = (gc.mem_free(), journal.free(), records, self.meter.cell_mv(), self.meter.microphone.rate_ppb)
