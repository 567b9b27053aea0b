"""From a survey in the ledger to its plan: the one place that joins the two."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field, replace

from reedbench.errors import BadInput
from reedbench.evidence import MOVED, Earlier, Evidence, levels
from reedbench.hand.settled import SettlingRecord
from reedbench.heard import Heard
from reedbench.history import Learned, PastSurveys, Surveyed
from reedbench.item import Item
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan, plan
from reedbench.reading import Reading
from reedbench.remarks import remarks
from reedbench.surveys import in_state
from reedbench.temperature import Correction, moved
from reedbench.tuning import cents_between, raised


def planned(
    ledger: Ledger, number: int | None, state: str | None = None, correction: Correction | None = None
) -> tuple[StoredSurvey, Plan]:
    """The survey of that number, or the one sounded last, and the plan that follows from its takes in one state (the
    last one sounded in for None), with readings as they are or as `correction` says; BadInput where none can."""
    read, made = read_and_planned(ledger, number, state, correction)
    return read.survey, made


def read_and_planned(
    ledger: Ledger,
    number: int | None,
    state: str | None = None,
    correction: Correction | None = None,
    record: SettlingRecord | None = None,
) -> tuple[Surveyed, Plan]:
    """The same with the survey as it was read by itself. `record`: of this ledger, where there is one already."""
    survey = in_state(ledger.survey(number), state)
    record = record or SettlingRecord(Heard(ledger))
    past = PastSurveys(record.heard, survey, correction)
    *_, (read, made) = plans(past, past.told_with(survey), record)
    if correction and made.celsius is None:
        raise BadInput(f"nobody knows how warm it was in survey {survey.number}: leave --celsius out")
    return read, made


def plans(
    past: PastSurveys, surveys: Iterable[StoredSurvey], record: SettlingRecord
) -> Iterator[tuple[Surveyed, Plan]]:
    """Each of `surveys` as it was read, and its plan; in one state, the oldest first, each with what was known then."""
    known: list[Surveyed] = []
    memory, made = _Memory(), None
    for read in past.read(surveys):
        one, days = read, None
        if made:
            memory.keep(known[-1], made, read)
            again = [item.reed.ordinal for item in made.items if item.action == "sound again"]
            one, days = past.going_on(known[-1], read, again), read.survey.days_since(known[-1].survey)
        learned = past.learned(one.survey)
        here = _in_state(one, learned)
        evidence = Evidence(
            here.instrument,
            here.readings,
            memory.accepted,
            tuple(memory.history),
            levels(here.takes),
            record.known(one.survey),
            days,
        )
        made = plan(evidence, learned.offsets if learned else {}, memory.kept)
        known.append(one)
        yield (
            read,
            replace(
                made,
                pass_number=one.survey.pass_number,
                celsius=one.celsius,
                remarks=remarks(known, learned, past.correction),
            ),
        )


@dataclass
class _Memory:
    """What the surveys so far and their plans tell about the next one; by ordinal, as Evidence and plan have it."""

    accepted: dict[int, float] = field(default_factory=dict)
    history: list[dict[int, Earlier]] = field(default_factory=list)
    kept: dict[int, Reading] = field(default_factory=dict)

    def keep(self, one: Surveyed, made: Plan, after: Surveyed) -> None:
        """Keep what `one` and its plan tell about the survey `after`."""
        worked = after.survey.pass_number > one.survey.pass_number
        moved = {item.reed.ordinal for item in made.items if worked and item.action in MOVED}
        good = [item for item in made.items if item.verdict == "good"]
        accepted = self.accepted | {item.reed.ordinal: item.hz for item in good if item.hz}
        self.accepted = {ordinal: hz for ordinal, hz in accepted.items() if ordinal not in moved}
        missing = [item for item in good if not after.readings[item.reed.ordinal].standing]
        self.kept = {item.reed.ordinal: _kept(item, one, after) for item in missing}
        sounded = [item for item in made.items if one.readings[item.reed.ordinal].cents is not None]
        self.history.append({item.reed.ordinal: _earlier(item, worked) for item in sounded})


def _in_state(one: Surveyed, found: Learned | None) -> Surveyed:
    """A survey made on the bench, against the targets as they must read there; an assembled one as it is."""
    if found is None or one.survey.state == found.assembled.survey.state:
        return one
    shifts = {ordinal: offset.bench_cents() for ordinal, offset in found.offsets.items()}
    shifted = {n: moved(one.readings[n], -shifts[n], offset.u95_cents) for n, offset in found.offsets.items()}
    return replace(one, instrument=replace(one.instrument, shifts=shifts), readings=one.readings | shifted)


def _kept(item: Item, one: Surveyed, after: Surveyed) -> Reading:
    """The reading of a good reed of `one`, for the survey `after`, in which it may not have been sounded."""
    target_hz = after.instrument.reeds[item.reed.ordinal].target_hz
    cents = cents_between(item.hz, target_hz) if item.hz else None
    earlier = (*item.reading.earlier, *((one.survey.number, number) for number in item.reading.used))
    return replace(
        item.reading, cents=cents, used=(), earlier=earlier, left_out=(), standing=0, flags=(), disagreeing=0
    )


def _earlier(item: Item, worked: bool) -> Earlier:
    """A reed of an earlier survey; `worked`: whether its plan was carried out before the next.

    One that was to be looked at has been, since it was sounded again.
    """
    assert item.hz is not None and item.reading.u95_cents is not None
    if item.action == "inspect":
        return Earlier(item.hz, item.reading.u95_cents, item.action)
    if not worked or item.stop_cents is None:
        return Earlier(item.hz, item.reading.u95_cents)
    return Earlier(item.hz, item.reading.u95_cents, item.action, raised(item.reed.target_hz, item.stop_cents))
