"""How worked reeds settle in this shop: what they did between surveys that have no work between them, after a pass.

A reed was worked where it was off its target before the pass and moved in it. What all that were left alone moved is
taken off; where fewer than a few were, nothing is learned, since the room may have moved all.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from reedbench.errors import BadInput
from reedbench.evidence import MOVED, REST_LEAST, apart
from reedbench.heard import Heard
from reedbench.history import in_order
from reedbench.instrument import Instrument
from reedbench.ledger import StoredSurvey
from reedbench.settling import WITHIN, Settled, settled
from reedbench.surveys import instrument_kept
from reedbench.tuning import cents_between

# Common practice, no source:
OFF_SHARE = 0.5  # of the tolerance: a reed nearer to its target is not worked
WORKED_CENTS = 1.0  # nor was one that moved by less in a pass
ENOUGH = 200  # reeds that are looked at ...
MOST = 24  # ... in the last so many waits

Hertz = Mapping[int, float]  # what a survey reads, by ordinal
Moved = tuple[str, str, float]  # what the pass did to a reed, one of WITHIN, and how far it moved in cents


@dataclass(frozen=True)
class Wait:
    """Two surveys of an instrument in one state without work between, and those before and after the last pass."""

    before: StoredSurvey
    after: StoredSurvey
    first: StoredSurvey
    then: StoredSurvey

    def moved(self, instrument: Instrument, read: Callable[[StoredSurvey], Hertz]) -> Iterator[Moved]:
        """What worked reeds did between `first` and `then`; nothing where one of these is undated."""
        days = self.then.days_since(self.first)
        if days is None:
            return
        when = next(name for name, most in WITHIN if days <= most)
        ways = self._ways(instrument, read)
        went = _between(read(self.first), read(self.then))
        alone = went.keys() - ways.keys()
        if len(alone) >= REST_LEAST:
            own, _ = apart(went, alone)
            yield from ((ways[ordinal], when, own[ordinal]) for ordinal in ways if ordinal in own)

    def _ways(self, instrument: Instrument, read: Callable[[StoredSurvey], Hertz]) -> dict[int, str]:
        """Which reeds the pass raised and lowered."""
        before = read(self.before)
        reference = cents_between(self.before.reference_hz, instrument.order.reference_hz)
        off = {
            ordinal
            for ordinal, hz in before.items()
            if abs(cents_between(hz, instrument.reeds[ordinal].target_hz) - reference)
            > OFF_SHARE * self.before.tolerance_cents
        }
        went = _between(before, read(self.after))
        own, _ = apart(went, went.keys() - off)
        worked = [ordinal for ordinal in sorted(own.keys() & off) if abs(own[ordinal]) >= WORKED_CENTS]
        return {ordinal: "raise" if own[ordinal] > 0 else "lower" for ordinal in worked}


def _between(one: Hertz, other: Hertz) -> dict[int, float]:
    """Cents that each reed of both moved."""
    return {ordinal: cents_between(other[ordinal], hz) for ordinal, hz in one.items() if ordinal in other}


def waits(surveys: Iterable[StoredSurvey]) -> Iterator[Wait]:
    """Those among the surveys of one instrument in one state, the oldest first."""
    last = None
    for one, other in pairwise(surveys):
        if other.pass_number > one.pass_number:
            last = one, other
        elif other.pass_number < one.pass_number:
            last = None  # it has been away meanwhile
        elif last:
            yield Wait(*last, one, other)


def summed(moved: Iterable[Moved]) -> list[Settled]:
    """By what was done and by the time between; kinds without reeds are left out."""
    seen: dict[tuple[str, str], list[float]] = {}
    for action, when, cents in moved:
        seen.setdefault((action, when), []).append(cents)
    order = [(action, when) for action in MOVED for when, _ in WITHIN]
    return [settled(*kind, seen[kind]) for kind in order if kind in seen]


class SettlingRecord:
    """What a ledger tells about settling. Each wait is looked at once, when it is first asked for."""

    def __init__(self, heard: Heard) -> None:
        self.heard, self._ledger = heard, heard.ledger
        self._moved: dict[int, list[Moved]] = {}  # by number of the survey that ends a wait
        self._read: dict[StoredSurvey, Hertz] = {}
        self._instruments: dict[str, Instrument | None] = {}
        self._waits: dict[str, list[Wait]] = {}  # of each instrument
        self._ends: list[tuple[int, str]] = []  # (number, instrument) of what may end a wait, the oldest first
        last: dict[str, int] = {}
        for number, instrument, work_pass in self._ledger.passes():
            if work_pass and last.get(instrument) == work_pass:
                self._ends.append((number, instrument))
            last[instrument] = work_pass

    def known(self, survey: StoredSurvey | None = None) -> list[Settled]:
        """What was known when `survey` came into the ledger, from the last waits before it; for None what is now."""
        ends = [end for end in self._ends if survey is None or end[0] < survey.number]
        found: list[Moved] = []
        for number, instrument in ends[: -MOST - 1 : -1]:
            if number not in self._moved:
                self._moved[number] = self._of(number, instrument)
            found += self._moved[number]
            if len(found) >= ENOUGH:
                break
        return summed(found)

    def _of(self, number: int, key: str) -> list[Moved]:
        """What worked reeds did in the waits that end with that survey, one in each of its states."""
        instrument = self._described(key)
        if instrument is None:
            return []  # a meter knew it, and nobody has described it here
        if key not in self._waits:
            surveys = [one for one in in_order(self._ledger.surveys(key)) if one.layout == instrument.layout.id]
            self._waits[key] = [wait for state in _states(surveys) for wait in waits(state)]
        ending = [wait for wait in self._waits[key] if wait.then.number == number]
        return [one for wait in ending for one in wait.moved(instrument, lambda it: self._hertz(it, instrument))]

    def _described(self, key: str) -> Instrument | None:
        if key not in self._instruments:
            try:
                self._instruments[key] = instrument_kept(self._ledger, key)
            except BadInput:
                self._instruments[key] = None
        return self._instruments[key]

    def _hertz(self, survey: StoredSurvey, instrument: Instrument) -> Hertz:
        if survey not in self._read:
            if survey.file is not None:
                self._read[survey] = {one.ordinal: one.hz for one in self._ledger.imported(survey.number)}
            else:
                self._read[survey] = self.heard.of(survey, instrument).pitches_alone()
        return self._read[survey]


def _states(surveys: Sequence[StoredSurvey]) -> Iterator[list[StoredSurvey]]:
    """The surveys in each state."""
    for state in dict.fromkeys(state for one in surveys for state in one.states):
        yield [one.sounded(state) for one in surveys if state in one.states]
