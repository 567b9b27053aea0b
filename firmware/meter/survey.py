"""One walk through an instrument's reeds: which reed is wanted, whose sounding was that, is it enough?

No key is needed. Takes of a reed are repeated until two agree (wire.agree) or the reed is given up as doubtful.
Sounding the reed just finished again within REDO_MS withdraws its takes and starts it afresh. A sounding that
fits another reed better is named and not kept; nothing is ever stored under a wrong name.

The state of sounding is asked for first; sounding a reed says yes to what is shown. Each state has marks of its
own: a reed that is finished with the covers off is still to come in the assembled instrument.
"""

import math
from array import array

from wire import agree, record

OWN_CENTS = 60  # as far from its target a sounding is the wanted reed's own without question
OTHER_CENTS = 40  # so near another reed's target it is that one's
SAME_CENTS = 15  # so near what a reed was just found to have it is that reed again
FAR_CENTS = 200  # beyond this it is no sounding of the wanted reed
REDO_MS = 6000
STRAY_MOST = 4  # soundings of other reeds in a row, before the survey goes on without the wanted one

MISSING, DONE, DOUBTFUL = 0, 1, 2
UNKNOWN = 32767
TICKS = 0x3FFFFFFF  # a board's milliseconds begin anew after this


def cents_between(hz, target_hz):
    """How far `hz` lies above `target_hz`, in cents."""
    return 1200 * math.log(hz / target_hz) / math.log(2)


class Outcome:
    """What became of a sounding.

    verdict: "again", "done", "give up" for a take of reed `index`; "wrong" where it was reed `index` but another
    was wanted; "stray" where it was none; "left out" for a reed that was passed by with a key. `redo`: takes so
    far of this reed in this state are withdrawn. cents is None without a figure. scatter_cents: wire.agree.Scatter's
    before this take.
    """

    def __init__(self, verdict, index, cents=None, se_cents=0.0, flags_bits=0):
        self.verdict = verdict
        self.index = index
        self.cents = cents
        self.se_cents = se_cents
        self.flags_bits = flags_bits
        self.number = 0
        self.redo = False
        self.scatter_cents = 0.0
        self.pair = None  # (beats a second, lower, upper reed's cents from target); (beats,) where they beat too slowly


class Survey:
    """State of one survey over `instrument` (a shelf.Instrument); positions are in its sounding order.

    index: position wanted now. takes: (cents or None, se_cents, flags_bits) of that reed so far. marks: one of
    MISSING, DONE, DOUBTFUL per position. heard: position of a wrong reed just heard, -1 none. last: Outcome.
    state: the field of that name that takes get now. asking: whether it is being asked for. numbers: takes of each
    position so far, withdrawn ones too.
    """

    def __init__(self, instrument):
        self.instrument = instrument
        self.state = record.state_byte(instrument.state)
        self.asking = True
        self._wind = self.state >> 4  # plucking in between does not change it
        self.marks = bytearray(len(instrument))
        self._marks_in = {}  # the other states' marks
        self._stale = set()  # (state, position) of reeds whose takes the next one withdraws
        self.scatter = agree.Scatter()
        self.numbers = bytearray(len(instrument))
        self._forget_pitches()
        self.index = 0
        self.takes = []
        self.last = None
        self.heard = -1
        self.redoing = False
        self.finished = False
        self.phase = "wait"
        self._strays = 0
        self._before = -1
        self._before_ms = 0

    def both(self):
        """Whether the two reeds of each pair are sounded together."""
        return bool(self.state & record.BOTH)

    def expected_hz(self):
        """Target of the wanted reed in hertz, single precision will do."""
        return self.instrument.target_uhz(self.index) / 1e6

    def done(self):
        """Reeds finished in this state, doubtful ones included."""
        return sum([1 for mark in self.marks if mark != MISSING])

    def marks_in(self):
        """Marks by state, of all states that were sounded in and the present one."""
        marks = dict(self._marks_in)
        marks[self.state] = self.marks
        return marks

    def resume(self, state, marks, numbers, begun):
        """Goes on from `marks_in` and `numbers`; `begun`: whether the wanted reed has takes, which no longer count."""
        self._marks_in = marks
        self.numbers[:] = numbers
        self.state = state
        self._wind = self._wind if state == record.PLUCKED else state >> 4
        self.marks = self._marks_in.pop(state)
        self._onward(0)
        if begun and not self.finished:
            self._stale.add((state, self.index))

    def alter(self, key):
        """Another state of sounding: "up" alters how the reed sits, "down" what moves the air."""
        how = self.state & 7
        if key == "up":
            how = (how + 1) % len(record.STATES)
        elif how == record.PLUCKED:
            return
        else:
            self._wind = (self._wind + 1) % len(record.WINDS)
        self._enter(how if how == record.PLUCKED else how | self._wind << 4 | self.state & record.BOTH)

    def back(self):
        """To the reed before, which is begun afresh when it is sounded."""
        if self._before >= 0:
            place = self._before
        else:
            place = self.index if self.finished else max(0, self.index - 1)
        self._break_off()
        self.index = place
        self.marks[place] = MISSING
        self._stale.add((self.state, place))
        self.redoing = True
        self.finished = False
        self._before = -1

    def leave_out(self, now_ms):
        """The wanted reed is left as doubtful."""
        if not self.finished:
            place = self.index
            self._close(DOUBTFUL, now_ms - REDO_MS)
            self.last = Outcome("left out", place)
            self.heard = -1

    def judge(self, tone, now_ms):
        """Decides whose sounding `tone` (pitch.Tone, its flags complete) was; returns the Outcome."""
        kind, index = self._whose(tone, now_ms)
        self.heard = -1
        if kind != "stray":
            self.asking = False
        if kind == "own" or kind == "redo":
            outcome = self._take(tone, index, kind == "redo", now_ms)
        else:
            outcome = Outcome(kind, index)
            self.heard = index if kind == "wrong" else -1
            if kind == "wrong":
                self._strays += 1
                if self._strays >= STRAY_MOST:
                    self._close(DOUBTFUL, now_ms)
        self.last = outcome
        return outcome

    def unsay(self):
        """Takes the last judgement back: its take could not be saved, so the reed is to be sounded again."""
        self.index = self.last.index
        self.marks[self.index] = MISSING
        self._stale.add((self.state, self.index))
        self.takes = []
        self.finished = False
        self._before = -1
        self.last = None

    def open_for_redo(self, now_ms):
        """Whether the reed before can still be redone."""
        return self._before >= 0 and (now_ms - self._before_ms) & TICKS < REDO_MS

    def _whose(self, tone, now_ms):
        """("own", "redo", "wrong" or "stray", position): whose sounding that was."""
        if not tone.hz:
            return "stray", -1
        if self.open_for_redo(now_ms) and self._is(tone.hz, self._before):
            if self.finished or abs(self._off(tone.hz, self.index)) > OWN_CENTS:
                return "redo", self._before
        if self.finished:
            return "stray", -1
        off = abs(self._off(tone.hz, self.index))
        if off <= OWN_CENTS:
            return "own", self.index
        for place in self._others(tone.hz):
            return "wrong", place
        return ("own", self.index) if off <= FAR_CENTS else ("stray", -1)

    def _others(self, hz):
        """Positions that this may have been instead of the wanted one, the likeliest only, or none."""
        near = [i for i in range(len(self.marks)) if i != self.index and self._is(hz, i)]
        return [min(near, key=lambda i: abs(self._off(hz, i)))] if near else []

    def _is(self, hz, index):
        """Whether this is the pitch that the reed at `index` was found to have, or should have if it is not known."""
        found = self._found[index]
        if found == UNKNOWN:
            return abs(self._off(hz, index)) <= OTHER_CENTS
        return abs(self._off(hz, index) - found / 10) <= SAME_CENTS

    def _off(self, hz, index):
        return cents_between(hz, self.instrument.target_uhz(index) / 1e6)

    def _take(self, tone, index, redo, now_ms):
        if redo or (self.state, index) in self._stale:
            self._stale.discard((self.state, index))
            redo = True
            self.index = index
            self.takes = []
            self.finished = False
            self.marks[index] = MISSING
        self.redoing = redo or (self.redoing and index == self.index)
        self._strays = 0
        cents = self._off(tone.uhz / 1e6, index) if tone.uhz else None
        bits = record.flag_bits(tone.flags)
        pair = self._pair(tone, index)
        if tone.pair and self.both():
            cents, counted = pair[1], (pair[1], 0.0, 0)  # they are what is wanted
        else:
            counted = (cents, tone.se_cents, bits)
        self.takes.append(counted)
        self._found[index] = max(-30000, min(30000, int(10 * self._off(tone.hz, index))))
        trusted = [(c, se) if record.trusted(b, 1) and c is not None else None for c, se, b in self.takes]
        outcome = Outcome(agree.verdict(trusted, self.scatter.cents), index, cents, tone.se_cents, bits)
        outcome.redo = redo
        outcome.scatter_cents = self.scatter.cents
        outcome.pair = pair
        self.numbers[index] = min(255, self.numbers[index] + 1)
        outcome.number = self.numbers[index]
        if outcome.verdict != "again":
            self.scatter.learn(trusted)
            self._close(DONE if outcome.verdict == "done" else DOUBTFUL, now_ms)
        return outcome

    def _pair(self, tone, index):
        """What Outcome calls `pair`; an upper octave from the target's octave."""
        if not tone.pair:
            return tone.band and tone.band.beat_hz and (tone.band.beat_hz,)
        high_hz = tone.pair.high_hz / (2 if tone.pair.octave else 1)
        return tone.pair.beat_hz, self._off(tone.pair.low_hz, index), self._off(high_hz, index)

    def _close(self, mark, now_ms):
        """The wanted reed is finished; on to the next that is missing."""
        self.marks[self.index] = mark
        self._before = self.index
        self._before_ms = now_ms
        self._strays = 0
        self.takes = []
        self.redoing = False
        self._onward(1)

    def _enter(self, state):
        """Goes on in that state of sounding, with the reeds that are missing there."""
        self._break_off()
        if any(self.marks):
            self._marks_in[self.state] = self.marks
        self.marks = self._marks_in.pop(state, None) or bytearray(len(self.marks))
        self._forget_pitches()
        self.state = state
        self._before = -1
        if self.finished:
            self.index = 0
        self._onward(0)

    def _onward(self, first):
        """To the next reed that is missing, in order and then from the start; `first` 0 looks at the wanted one too."""
        self.finished = False
        for step in range(first, len(self.marks)):
            place = (self.index + step) % len(self.marks)
            if self.marks[place] == MISSING:
                self.index = place
                return
        self.finished = True

    def _break_off(self):
        """Leaves the wanted reed as it is: if it has takes, the next one of it begins it afresh."""
        if self.takes:
            self._stale.add((self.state, self.index))
        self.takes = []
        self.last = None
        self.heard = -1
        self._strays = 0
        self.redoing = False

    def _forget_pitches(self):
        self._found = array("h", (UNKNOWN for _ in range(len(self.marks))))  # tenths of a cent from target
