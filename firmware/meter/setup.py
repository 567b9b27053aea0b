"""The settings, and a page about the meter.

up, down: another line    do: change this one, up and down then do it (held, by ten steps), do again keeps it
"""

import gc

from . import mode
from .settings import SETTINGS

ABOUT = len(SETTINGS)  # the line after the settings


class Mode(mode.Mode):
    """`chosen`: line. `changing`: whether up and down change it. `facts`: of the page about the meter, None while it is
    not up: (heap free, journal free, records, cell in mV or None, clock error in ppb)."""

    listens = False

    def __init__(self, meter):
        self.meter = meter
        self.settings = meter.settings
        self.chosen = 0
        self.changing = False
        self.facts = None

    def press(self, key, press, now_ms):
        if self.facts:
            self.facts = None
        elif key == "do":
            self._do()
        elif self.changing:
            steps = (10 if press == "hold" else 1) * (1 if key == "up" else -1)
            self._change(SETTINGS[self.chosen], steps)
        else:
            self.chosen = (self.chosen + (1 if key == "down" else -1)) % (ABOUT + 1)
        return ""

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
