"""Any reed, of no instrument: where it lies, how steady it is, how loud.

up, down: reference A by a tenth of a hertz, held by a whole one    do: a page about the keys; any key leads back
"""

from . import mode
from .survey import cents_between

REFERENCE_LEAST, REFERENCE_MOST = 400000, 480000


class Mode(mode.Mode):
    """`live`: the running figure (live.Live). `tone`: the last that was measured (pitch.Tone), None before and while
    another is sounding. `settings`: with reference_mhz. `page`: "keys" or ""."""

    def __init__(self, meter):
        self.meter = meter
        self.settings = meter.settings
        self.live = meter.ear.live()
        self.tone = None
        self.page = ""
        self._changed = False

    def note(self):
        """(MIDI number of the nearest note of twelve equal ones, cents from it) of what is shown."""
        hz = self.tone.hz if self.tone else self.live.hz
        cents = 6900 + cents_between(hz, self.settings.reference_mhz / 1000)
        number = int(cents / 100 + 0.5)
        return number, cents - 100 * number

    def follow(self, now_ms):
        new = self.live.follow()
        if new:
            self.tone = self.live.tone
            self.page = ""
        return new

    def heard(self, tone, now_ms):
        self.tone = tone if tone.hz else None
        self.live.take(self.tone)
        return False

    def press(self, key, press, now_ms):
        if self.page:
            self.page = ""
        elif key == "do":
            self.page = "keys"
        else:
            step = (1000 if press == "hold" else 100) * (1 if key == "up" else -1)
            reference = self.settings.reference_mhz + step
            self.settings.reference_mhz = max(REFERENCE_LEAST, min(REFERENCE_MOST, reference))
            self._changed = True
        return ""

    def leave(self):
        if self._changed:
            self.settings.keep()
