"""What bench and check have in common: takes of an instrument that are no survey's, under a sitting of their own.

The sitting's record is written with its first take, so that one in which nothing sounded leaves nothing.
"""

from wire import record

from .survey import Outcome, cents_between

NEAR_CENTS = 50  # so near its target a sounding is that reed's
ANY_CENTS = 12000


class Sitting:
    """`doing`: one of record.SITTINGS; `state`: the record's field of that name, that takes get now.

    `positions`: of the reeds, each once: the control reed's other turns are for surveys.
    """

    def __init__(self, doing, instrument, scribe, state):
        self.doing = doing
        self.instrument = instrument
        self.positions = [i for i in range(len(instrument)) if not instrument.role(i)]
        self.state = state & ~record.BOTH  # reeds are sounded one by one here
        self._scribe = scribe
        self._number = None
        self._takes = bytearray(len(instrument))

    def off(self, hz, index):
        """Cents by which `hz` lies above the target of the reed at that position."""
        return cents_between(hz, self.instrument.target_uhz(index) / 1e6)

    def near(self, hz, within=NEAR_CENTS):
        """Positions whose target is that near, the nearest first."""
        found = [i for i in self.positions if abs(self.off(hz, i)) <= within]
        return sorted(found, key=lambda i: abs(self.off(hz, i)))

    def partner(self, index, within=ANY_CENTS):
        """Position of the other reed of a pair, whose target is that near: the same place and air, another member; -1
        for none."""
        reeds = self.instrument
        where = (reeds.place(index), reeds.breath(index), reeds.slide(index))
        hz = reeds.target_uhz(index) / 1e6
        for i in self.positions:
            if i != index and where == (reeds.place(i), reeds.breath(i), reeds.slide(i)):
                if abs(self.off(hz, i)) <= within:
                    return i
        return -1

    def keep(self, index, tone):
        """Writes the take of that reed. Raises WireError."""
        self._open()
        outcome = Outcome("", index)
        outcome.number = self._takes[index] = min(255, self._takes[index] + 1)
        self._scribe.keep_beside(self._number, self.state, self.instrument, outcome, tone)

    def note(self, kind, **values):
        """Writes a record of that kind, if the sitting has any take. Raises WireError."""
        if self._number is not None:
            self._scribe.note(kind, self._number, values)

    def _open(self):
        if self._number is None:
            self._number = self._scribe.sit(self.doing, self.instrument)


def next_state(state):
    """Another way for the reed to sit; what moves the air stays."""
    how = (state + 1) % len(record.STATES) if state & 15 != record.PLUCKED else 0
    return (how & 15) | (state & 0xF0)


def verdict(cents, se_cents, tolerance_cc):
    """ "good", "off" or "unsure" of a figure, by whether twice its standard error on both sides is within tolerance."""
    room = tolerance_cc / 100 - abs(cents)
    if abs(room) < 2 * se_cents:
        return "unsure"
    return "good" if room > 0 else "off"
