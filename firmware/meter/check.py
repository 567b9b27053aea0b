"""A check, without a host: whatever is played is ticked off, and told against its target and its last accepted reading.

where a choice is asked for   up, down: another    do: this one
while playing                 up, down: another reed to come next    do: the list, worst first; do again: back
                              hold up: how the reeds sit    hold down: a page about the keys; any key leads back
"""

from array import array

from wire import record

from . import mode
from .sitting import NEAR_CENTS, Sitting, next_state, verdict

UNKNOWN = 32767
MOVED_CENTS = 1.5  # breath and re-attack scatter a good reed by a few tenths; less than this is no movement
SAME_CENTS = 5  # targets so near each other cannot be told apart by ear or meter
PAIR_SE_CENTS = 0.1  # of each reed of two that sound together: half of what simulated ones are held to (docs/pairs.md)


class Mode(mode.Mode):
    """What there is to show:

    page: "kind" and "key" (a choice), "play", "list" or "keys". sitting: a Sitting, None before an instrument is
    chosen. rows, chosen: of the choice, or positions of the list, the worst first. last: position of the reed heard
    last, -1 for none; wanted: of the one that is to come next, -1 when all have been heard. live, tone: as in
    hearing.Mode. why: the flag that says why the tone gave no figure, None where it gave one. beat_hz: of the two of a
    pair that sounded together, of which `last` is the lower and `mate` the other; 0.0 where one sounded.
    """

    def __init__(self, meter):
        self.meter = meter
        self.live = meter.ear.live()
        self.tone = None
        self.sitting = None
        self.rows = []
        self.chosen = 0
        self.page = "kind"
        if meter.shelf.current:
            self._begin(meter.shelf.current, self._known())
        else:
            from .kinds import KINDS

            self.rows = [kind[1] for kind in KINDS]

    def _known(self):
        from .work import Work

        return Work(self.meter.files)

    def _begin(self, instrument, known):
        """Begins with that instrument; `known`: a work.Work, None without."""
        self.sitting = Sitting("check", instrument, self.meter.scribe, record.state_byte(instrument.state))
        count = len(instrument)
        self.cents = array("h", (UNKNOWN for _ in range(count)))  # hundredths, from the target
        self._errors = array("H", (0 for _ in range(count)))  # hundredths
        self._known = known
        self.last, self.wanted = -1, 0
        self.mate, self.beat_hz, self.why = -1, 0.0, None
        self._look_out()
        self.page = "play"

    def both(self):
        """Whether the reed that is to come has a partner, which as a rule sounds with it."""
        return self.sitting is not None and self._in_pairs

    def heard_count(self):
        """How many reeds have been heard."""
        return sum([1 for cents in self.cents if cents != UNKNOWN])

    def reading(self, i):
        """(cents from target, standard error) of a reed that was heard."""
        return self.cents[i] / 100, self._errors[i] / 100

    def verdict(self, i):
        """ "good", "off" or "unsure" of a reed that was heard."""
        cents, se_cents = self.reading(i)
        return verdict(cents, se_cents, self.sitting.instrument.tolerance_cc)

    def moved(self, i):
        """Cents by which a reed that was heard has left its last accepted reading; None where it has not."""
        if not self._known:
            return None
        _, _, last, u95 = self._known.of(self.sitting.instrument.ordinal(i))
        cents, se_cents = self.reading(i)
        apart = cents - last
        return apart if u95 and abs(apart) > MOVED_CENTS + u95 + 2 * se_cents else None

    def others(self, i):
        """Positions of reeds with the same target as that one, which may have been meant instead."""
        hz = self.sitting.instrument.target_uhz(i) / 1e6
        return [other for other in self.sitting.near(hz, SAME_CENTS) if other != i]

    def follow(self, now_ms):
        if not self.sitting or not self.live.follow():
            return False
        self.tone = None
        self.last = self._whose(self.live.hz)
        if self.page != "play":
            self.page = "play"
        return True

    def heard(self, tone, now_ms):
        if not self.sitting or not tone.hz:
            return False
        self.page = "play"
        pair = tone.pair
        self.last = self._whose(pair.low_hz if pair else tone.hz)
        self.tone = tone
        if self.last < 0:
            return False
        self._figure(tone, pair)
        if self.wanted >= 0 and self.cents[self.wanted] != UNKNOWN:
            self._want(1)
        self.sitting.keep(self.last, tone)
        return True

    def _figure(self, tone, pair):
        """What the tone says of the reed heard last, and of its mate; what two reeds say together is neither's."""
        self.beat_hz, self.why = 0.0, None
        self.mate = self.sitting.partner(self.last, NEAR_CENTS)
        if "two-reeds" not in tone.flags or self.mate < 0:
            if tone.uhz:
                self._note(self.last, tone.uhz / 1e6, tone.se_cents)
            else:
                self.why = tone.flags[0] if tone.flags else ""
        elif pair:
            targets = self.sitting.instrument.target_uhz
            if targets(self.mate) < targets(self.last):
                self.last, self.mate = self.mate, self.last
            self.beat_hz = pair.beat_hz
            self._note(self.last, pair.low_hz, PAIR_SE_CENTS)
            self._note(self.mate, pair.high_hz, PAIR_SE_CENTS)
        else:
            self.why = "short"

    def _note(self, i, hz, se_cents):
        self.cents[i] = max(-30000, min(30000, round(100 * self.sitting.off(hz, i))))
        self._errors[i] = min(60000, round(100 * se_cents))

    def _whose(self, hz):
        """Which reed that was: the one that is to come if it fits, else the nearest not heard yet, else the nearest."""
        near = self.sitting.near(hz)
        if not near:
            return -1
        if self.wanted == near[0] or self.wanted in self.others(near[0]):
            return self.wanted
        fresh = [i for i in near if self.cents[i] == UNKNOWN]
        return (fresh or near)[0]

    def _want(self, step):
        """The next reed that has not been heard, in that direction."""
        count = len(self.cents)
        start = self.wanted
        for i in range(1, count + 1):
            place = (start + step * i) % count
            if self.cents[place] == UNKNOWN and place in self.sitting.positions:
                self.wanted = place
                self._look_out()
                return
        self.wanted = -1

    def _look_out(self):
        """Whether two are to be heard is asked for at each block, so that it is found out beforehand."""
        self._in_pairs = self.sitting.partner(self.wanted, NEAR_CENTS) >= 0

    def press(self, key, press, now_ms):
        if self.page in ("kind", "key", "list"):
            self._choose(key)
        elif self.page == "keys":
            self.page = "play"
        elif key == "do":
            self._list()
        elif press == "tap":
            self._want(1 if key == "down" else -1)
        elif key == "up":
            self.sitting.state = next_state(self.sitting.state)
        else:
            self.page = "keys"
        return ""

    def _choose(self, key):
        if key != "do":
            self.chosen = (self.chosen + (1 if key == "down" else -1)) % max(1, len(self.rows))
        elif self.page == "list":
            self.page = "play"
        elif self.page == "kind":
            from .kinds import KEYS

            self._kind, self.chosen = self.chosen, 0
            self.rows = [key for key, _ in KEYS]
            self.page = "key"
        else:
            from .builtin import made

            self._begin(made(self._kind, self.chosen, self.meter.settings), None)

    def _list(self):
        heard = [i for i in range(len(self.cents)) if self.cents[i] != UNKNOWN]
        self.rows = sorted(heard, key=lambda i: -abs(self.cents[i]))
        self.chosen = 0
        self.page = "list"

    def off_and_moved(self):
        """How many of the reeds heard are out of tolerance, and have left their last reading."""
        heard = [i for i in range(len(self.cents)) if self.cents[i] != UNKNOWN]
        off = sum([1 for i in heard if self.verdict(i) == "off"])
        return off, sum([1 for i in heard if self.moved(i) is not None])

    def leave(self):
        """The summary, for the host."""
        if not self.sitting or not self.heard_count():
            return
        self._list()
        off, moved = self.off_and_moved()
        worst = self.rows[0]
        self.sitting.note(
            "checked",
            heard=len(self.rows),
            off=off,
            moved=moved,
            worst=self.sitting.instrument.ordinal(worst),
            worst_ccent=self.cents[worst],
        )

    def activity(self):
        return "check", self.heard_count() if self.sitting else 0, len(self.sitting.positions) if self.sitting else 0
