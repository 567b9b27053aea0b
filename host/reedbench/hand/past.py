"""An instrument's past: its surveys in one state, each with the plan that followed, and what happened between them."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby, pairwise

from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.evidence import MOVED
from reedbench.hand.moves import Move, Pitch, moves, pitches
from reedbench.hand.settled import SettlingRecord
from reedbench.heard import Heard
from reedbench.history import PastSurveys, Surveyed, in_order, jobs
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.item import Item
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan
from reedbench.planning import plans
from reedbench.surveys import state_known
from reedbench.tuning import cents_between


@dataclass(frozen=True)
class Chapter:
    """One survey in the state of the past that it belongs to, as it was read by itself, and its plan."""

    read: Surveyed
    plan: Plan

    @property
    def survey(self) -> StoredSurvey:
        return self.read.survey

    @cached_property
    def pitches(self) -> dict[int, Pitch]:
        """What was read in it, by ordinal; what it only goes on with from an earlier one is not."""
        return pitches(self.read.instrument, self.read.readings)

    @property
    def worst(self) -> Item | None:
        """The reed that lies farthest from its target."""
        read = [item for item in self.plan.items if item.reading.cents is not None and item.reading.standing]
        return max(read, key=lambda item: abs(item.reading.cents or 0.0), default=None)

    def verdicts(self, verdict: str) -> int:
        """How many reeds were good, off, unsure, or to be looked at."""
        return sum(item.verdict == verdict for item in self.plan.items)


@dataclass(frozen=True)
class Moved:
    """One reed from one survey to the next. Cents are beyond what all that were left alone moved."""

    reed: InstrumentReed
    move: Move
    action: str  # what the pass between had for it, "raise" or "lower"; "" where it was left alone
    past_stop_cents: float | None  # how much higher it reads than where the pass was to stop; None if left alone

    @property
    def by_work_cents(self) -> float | None:
        """How far it moved the way that it was worked; None where it was left alone."""
        return {"raise": self.move.cents, "lower": -self.move.cents}.get(self.action)


@dataclass(frozen=True)
class Stretch:
    """From one survey to the next. `worked`: whether a pass of work lies between; `common_cents`: what all moved."""

    before: Chapter
    after: Chapter
    worked: bool
    moved: tuple[Moved, ...]
    common_cents: float

    @property
    def days(self) -> float | None:
        """Time between, where both are dated."""
        return self.after.survey.days_since(self.before.survey)

    def of(self, action: str) -> list[Moved]:
        """The reeds that the pass raised, or lowered; "" for those left alone."""
        return [one for one in self.moved if one.action == action]


@dataclass(frozen=True)
class Past:
    """All surveys of one instrument in one state, the oldest first."""

    instrument: Instrument
    state: str
    chapters: tuple[Chapter, ...]

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        return tuple(_stretch(before, after) for before, after in pairwise(self.chapters))

    @property
    def jobs(self) -> list[list[Chapter]]:
        """The surveys by times that the instrument was in the shop."""
        chapters = {chapter.survey.number: chapter for chapter in self.chapters}
        return [[chapters[one.number] for one in job] for job in jobs(one.survey for one in self.chapters)]

    def of_reed(self, ordinal: int) -> Iterator[tuple[Chapter, Item]]:
        """Each survey that read the reed, and its line in the plan."""
        for chapter in self.chapters:
            if ordinal in chapter.pitches:
                yield chapter, chapter.plan.by_ordinal()[ordinal]


def past_of(
    ledger: Ledger,
    key: str,
    state: str | None = None,
    until: StoredSurvey | None = None,
    record: SettlingRecord | None = None,
) -> Past:
    """The past of the instrument of that key in one state; BadInput without a survey.

    `state`: for None the one that it was surveyed in most often, of several the last. `until`: the last survey
    that counts, for None all do. `record`: of this ledger, where there is one already.
    """
    ledger.instrument(key)  # which says so where there is none
    surveys = in_order(ledger.surveys(key))
    if until is not None:
        surveys = surveys[: [one.number for one in surveys].index(until.number) + 1]
    if not surveys:
        raise BadInput(f"there is no survey of instrument {key} yet: load it and sound it")
    states = [one for survey in surveys for one in survey.states]
    wanted = state_known(state) if state is not None else max(reversed(states), key=states.count)
    if wanted not in states:
        known = "; ".join(dict.fromkeys(states))
        raise BadInput(f"instrument {key} was never sounded in the state {shown(wanted)}: it has {known}")
    same = [one for one in surveys if wanted in one.states]
    same = [one.sounded(wanted) for one in same if one.layout == same[-1].layout]
    record = record or SettlingRecord(Heard(ledger))
    chapters = tuple(_chapters(PastSurveys(record.heard, same[-1]), same, record))
    return Past(chapters[-1].plan.instrument, wanted, chapters)


def _chapters(past: PastSurveys, surveys: Sequence[StoredSurvey], record: SettlingRecord) -> Iterator[Chapter]:
    """Those whose plans take the same surveys into account are planned in one go."""
    for _, group in groupby(surveys, key=lambda one: past.told_with(one)[0].number):
        alike = list(group)
        told = list(plans(past, past.told_with(alike[-1]), record))
        yield from (Chapter(*one) for one in told[-len(alike) :])


def _stretch(before: Chapter, after: Chapter) -> Stretch:
    worked = after.survey.pass_number > before.survey.pass_number
    items = before.plan.by_ordinal()
    actions = {n: item.action for n, item in items.items() if worked and item.action in MOVED}
    own, common = moves(before.pitches, after.pitches, actions)
    moved = tuple(_moved(items[n], after.pitches[n].hz, own[n], actions.get(n, "")) for n in sorted(own))
    return Stretch(before, after, worked, moved, common)


def _moved(item: Item, hz: float, move: Move, action: str) -> Moved:
    if not action or item.stop_cents is None:
        return Moved(item.reed, move, action, None)
    return Moved(item.reed, move, action, cents_between(hz, item.reed.target_hz) - item.stop_cents)
