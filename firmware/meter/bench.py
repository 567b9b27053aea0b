"""One reed at the bench: how far from where it is to stop, and which way; strokes are counted.

up, down: another reed, those of the plan first, in its order    do: one stroke
hold up: how the reed sits    hold down: a page about the keys; any key leads back
"""

from wire import record

from . import mode
from .sitting import NEAR_CENTS, Sitting, next_state, verdict
from .work import Work

FAR_CENTS = 200  # beyond this it is another reed
ON_BENCH = record.STATES.index("plate on bench")


class Mode(mode.Mode):
    """What there is to show:

    sitting: a Sitting, None without an instrument. index: position of the reed. place, planned: its place in the plan,
    0 for one that is not in it, and how many are. stop: cents from its target where the work stops. live, tone: as in
    hearing.Mode. strokes: since the reed was chosen. other: position of another reed that was heard instead, -1 for
    none. partner: position of the reed that sounds with this one and has to be muted, -1 for none. page: "keys" or "".
    """

    def __init__(self, meter):
        self.meter = meter
        self.page = ""
        self.sitting = None
        instrument = meter.shelf.current
        if not instrument:
            return
        wind = record.state_byte(instrument.state) & 0xF0
        self.sitting = Sitting("bench", instrument, meter.scribe, ON_BENCH | wind)
        self.live = meter.ear.live()
        self._work = Work(meter.files)
        orders = {i: self._work.of(instrument.ordinal(i))[0] for i in self.sitting.positions}
        self.planned = max(orders.values())
        self._order = sorted(orders, key=lambda i: orders[i] or len(instrument) + i)
        self._at = 0
        self._told = 0  # of the strokes, to the journal
        self._choose(0)

    def _choose(self, at):
        self._at = at % len(self._order)
        self.index = self._order[self._at]
        self.place, self.stop = self._work.of(self.sitting.instrument.ordinal(self.index))[:2]
        self.partner = self.sitting.partner(self.index)
        self.tone = None
        self.live.take(None)
        self.live.hz = 0.0
        self.strokes = self._told = 0
        self.other = -1

    def expected_hz(self):
        return self.sitting.instrument.target_uhz(self.index) / 1e6 if self.sitting else 0.0

    def off(self, hz):
        """Cents from where the work stops."""
        return self.sitting.off(hz, self.index) - self.stop

    def way(self, cents, se_cents):
        """What that is: "good", "unsure", "raise" (the pitch: metal comes off the tip) or "lower" (off the root)."""
        found = verdict(cents, se_cents, self.sitting.instrument.tolerance_cc)
        return found if found != "off" else "raise" if cents < 0 else "lower"

    def follow(self, now_ms):
        if not self.sitting or not self.live.follow():
            return False
        if abs(self.sitting.off(self.live.hz, self.index)) > FAR_CENTS:
            self.live.hz = 0.0
        self.tone = self.live.tone
        self.other = -1
        self.page = ""
        return True

    def heard(self, tone, now_ms):
        if not self.sitting or not tone.hz:
            return False
        off = abs(self.sitting.off(tone.hz, self.index))
        others = self.sitting.near(tone.hz) if off > NEAR_CENTS else []
        if others or off > FAR_CENTS:
            self.other = others[0] if others else -1
            self.live.hz = 0.0
            return False
        self.tone = tone
        self.live.take(tone)
        self._tell()
        self.sitting.keep(self.index, tone)
        return True

    def press(self, key, press, now_ms):
        if not self.sitting:
            return "menu"
        if self.page:
            self.page = ""
        elif key == "do":
            self.strokes += 1
        elif press == "tap":
            self._tell()
            self._choose(self._at + (1 if key == "down" else -1))
        elif key == "up":
            self.sitting.state = next_state(self.sitting.state)
        else:
            self.page = "keys"
        return ""

    def leave(self):
        if self.sitting:
            self._tell()

    def _tell(self):
        """Writes down the strokes made since the take before."""
        if self.strokes > self._told:
            ordinal = self.sitting.instrument.ordinal(self.index)
            self.sitting.note("strokes", ordinal=ordinal, strokes=self.strokes - self._told)
            self._told = self.strokes

    def activity(self):
        return "bench", 0, len(self.sitting.positions) if self.sitting else 0
