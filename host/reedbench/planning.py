"""From a survey in the ledger to its plan: the one place that joins the two."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

from reedbench.errors import BadInput
from reedbench.evidence import MOVED, Earlier, Evidence, levels
from reedbench.history import Learned, PastSurveys, Surveyed
from reedbench.item import Item
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan, plan
from reedbench.reading import Reading
from reedbench.remarks import remarks
from reedbench.sheet import SurveyInfo
from reedbench.surveys import day, in_state, instrument_of
from reedbench.temperature import Correction, moved
from reedbench.tuning import cents_between, raised


def planned(
    ledger: Ledger, number: int | None, state: str | None = None, correction: Correction | None = None
) -> tuple[StoredSurvey, Plan]:
    """The survey of that number, or the one sounded last, and the plan that follows from its takes in one state (the
    last one sounded in for None), with readings as they are or as `correction` says; BadInput where none can."""
    survey = in_state(ledger.survey(number), state)
    instrument = instrument_of(ledger, survey)
    if instrument.layout.id != survey.layout:
        raise BadInput(
            f"survey {survey.number} is of the layout {survey.layout}, but the ledger now has "
            f"{instrument.name} as {instrument.layout.id}: add the instrument again as it was"
        )
    past = PastSurveys(ledger, instrument, survey.layout, correction)
    known = past.surveyed(survey)
    if correction and known[-1].celsius is None:
        raise BadInput(f"nobody knows how warm it was in survey {survey.number}: leave --celsius out")
    return survey, _planned(past, known, correction)


def _in_state(one: Surveyed, found: Learned | None) -> Surveyed:
    """A survey made on the bench, against the targets as they must read there; an assembled one as it is."""
    if found is None or one.survey.state == found.assembled.survey.state:
        return one
    shifts = {ordinal: offset.bench_cents() for ordinal, offset in found.offsets.items()}
    shifted = {n: moved(one.readings[n], -shifts[n], offset.u95_cents) for n, offset in found.offsets.items()}
    return replace(one, instrument=replace(one.instrument, shifts=shifts), readings=one.readings | shifted)


def _planned(past: PastSurveys, known: list[Surveyed], correction: Correction | None) -> Plan:
    """The plan of the last of `known`. Those of the earlier ones are made again from their readings, each with what was
    known then: they tell what was accepted, what was to be sounded again, and what was to be done in each pass."""
    accepted: dict[int, float] = {}
    history: list[dict[int, Earlier]] = []
    kept: dict[int, Reading] = {}
    one = known[0]
    for after in known[1:]:
        here = _in_state(one, past.learned(one.survey))
        items = plan(_evidence(here, accepted, history), kept=kept).items
        worked = after.survey.pass_number > one.survey.pass_number
        moved = {item.reed.ordinal for item in items if worked and item.action in MOVED}
        good = {item.reed.ordinal: item.hz for item in items if item.verdict == "good" and item.hz}
        kept = {item.reed.ordinal: _kept(item, after) for item in items if item.verdict == "good"}
        accepted = {ordinal: hz for ordinal, hz in (accepted | good).items() if ordinal not in moved}
        sounded = [item for item in items if one.readings[item.reed.ordinal].cents is not None]
        history.append({item.reed.ordinal: _earlier(item, worked) for item in sounded})
        one = past.going_on(one, after, [item.reed.ordinal for item in items if item.action == "sound again"])
    learned = past.learned(one.survey)
    last = _in_state(one, learned)
    return replace(
        plan(_evidence(last, accepted, history), learned.offsets if learned else {}, kept),
        pass_number=one.survey.pass_number,
        celsius=one.celsius,
        remarks=remarks([*known[:-1], one], learned, correction),
    )


def _evidence(one: Surveyed, accepted: Mapping[int, float], history: Sequence[Mapping[int, Earlier]]) -> Evidence:
    return Evidence(one.instrument, one.readings, accepted, tuple(history), levels(one.takes))


def _kept(item: Item, after: Surveyed) -> Reading:
    """The reading of a good reed, for the survey `after`, in which it may not have been sounded."""
    target_hz = after.instrument.reeds[item.reed.ordinal].target_hz
    cents = cents_between(item.hz, target_hz) if item.hz else None
    return replace(item.reading, cents=cents, used=(), left_out=(), standing=0, flags=(), disagreeing=0)


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


def survey_info(survey: StoredSurvey) -> SurveyInfo:
    """The survey as a sheet presents it."""
    taken = day(survey) if survey.unix_s else ""
    state = f"{survey.state}, imported from {survey.file}" if survey.file is not None else survey.state
    return SurveyInfo(taken, state, survey.meter, survey.takes, survey.pass_number)
