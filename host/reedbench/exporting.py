"""A survey as tables: its takes, its readings, its plan. docs/exchange.md is about these columns."""

from collections.abc import Mapping

from reedbench.exchange import Column, Table, Value
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.item import Item
from reedbench.ledger import StoredSurvey, StoredTake
from reedbench.plan import Plan
from reedbench.reading import Reading
from reedbench.surveys import date_bounds
from reedbench.tuning import cents_between, raised

_SURVEY = (
    Column("survey", "number of the survey in this ledger"),
    Column("date", "day of the survey, as 2026-11-25; empty when unknown"),
    Column("pass", "pass of the work that the survey follows; 0 before any"),
    Column("instrument", "key of the instrument"),
    Column("instrument_name", "what the shop calls it"),
    Column("layout", "identity of the layout"),
)
_REED = (
    Column("ordinal", "the reed's number in the layout, from 0"),
    Column("place", "hole, key or button, as people call it"),
    Column("breath", "blow, draw, push or pull; empty where air flows one way only"),
    Column("slide", "out, in, or empty on an instrument without a slide"),
    Column("member", "bank, or member of a pair; empty where there is one"),
    Column("plate", "plate that it sits on"),
    Column("face", "side of the plate: inner or outer"),
    Column("note", "its note in the instrument's key; middle C is C4"),
    Column("target_hz", "what it must read on the bench", 4),
)
TAKES = (
    "reedbench.takes/1",
    (
        *_SURVEY,
        *_REED,
        Column("take", "which take of this reed, from 1"),
        Column("sequence", "number of its record in the meter's journal"),
        Column("meter", "serial number of the meter"),
        Column("state", "how the reed was sounded, in words"),
        Column("unix_s", "when, in seconds since 1970; empty when unknown"),
        Column("span_s", "length of the tone that the figure comes from", 3),
        Column("hz", "pitch; empty without a figure", 6),
        Column("cents", "pitch from the target; empty without a figure", 3),
        Column("se_cents", "random standard error of the pitch", 3),
        Column("clock_u_cents", "standard uncertainty from the meter's clock, common to all its takes", 4),
        Column("check_cents", "second figure, from zero crossings, minus the first", 2),
        Column("drift_cents_per_s", "drift", 2),
        Column("level_dbfs", "level from full scale", 2),
        Column("board_celsius", "temperature of the board; empty when unknown", 1),
        Column("flags", "what speaks against the take, words apart by a semicolon"),
        Column("withdrawn", "yes where the reed was begun afresh after it"),
    ),
)
READINGS = (
    "reedbench.readings/1",
    (
        *_SURVEY,
        Column("state", "how the reeds were sounded, in words"),
        *_REED,
        Column("hz", "pitch that its takes say together; empty where none could be trusted", 6),
        Column("cents", "the same from the target", 3),
        Column("u95_cents", "uncertainty of that reading, 95 %", 3),
        Column("clock_u95_cents", "part of it that is common to all reeds, from the meter's clock", 3),
        Column("takes_used", "numbers of the takes it stands on, apart by a semicolon"),
        Column("takes_left_out", "numbers of the takes it does not stand on"),
        Column("remark", "what was written beside it where it was imported"),
    ),
)
PLAN = (
    "reedbench.plan/2",
    (
        *_SURVEY,
        Column("state", "how the reeds were sounded, in words"),
        Column("order", "place in the order of the work, from 1; 0 where there is nothing to do"),
        *_REED,
        Column("reading_cents", "reading from the target; empty where no take could be trusted", 3),
        Column("u95_cents", "uncertainty of that reading, 95 %", 3),
        Column("verdict", "good, off, unsure, or look"),
        Column("action", "leave, raise, lower, sound again, inspect, or replace"),
        Column("work", "rough or fine for work on metal, otherwise empty"),
        Column("move_cents", "what the pitch must do; empty where nothing may be moved yet", 3),
        Column("stop_cents", "what the reed should read when this pass stops", 3),
        Column("bench_stop_cents", "the same as it reads on the bench; empty where nobody knows", 3),
        Column("jobs", "what to see to before any metal, the first first, apart by a semicolon"),
        Column("where", "where metal comes off, or that mass goes on the tip, in words"),
        Column("thinner_percent", "share of the thickness there to take off in this pass, an order of size", 1),
        Column("why", "the reason, in a sentence"),
    ),
)
TABLES = {"takes": TAKES, "readings": READINGS, "plan": PLAN}


def takes_table(survey: StoredSurvey, takes: list[StoredTake], instrument: Instrument | None) -> Table:
    """One row a take, in the order of sounding; what an unknown instrument would tell stays empty."""
    reeds = {reed.ordinal: reed for reed in instrument.reeds} if instrument else {}
    head = _survey(survey)
    return Table(*TAKES, [head | _take(take, reeds.get(take.ordinal)) | {"meter": survey.meter} for take in takes])


def readings_table(
    survey: StoredSurvey, instrument: Instrument, readings: Mapping[int, Reading], remarks: Mapping[int, str]
) -> Table:
    """One row a reed, in the order of the layout. `remarks` by ordinal."""
    head = _survey(survey) | {"state": survey.state}
    rows = [
        head | reed.to_dict() | _reading(reed, readings[reed.ordinal]) | {"remark": remarks.get(reed.ordinal, "")}
        for reed in instrument.reeds
    ]
    return Table(*READINGS, rows)


def plan_table(survey: StoredSurvey, plan: Plan) -> Table:
    """One row a reed, the ones with work first, in the order of the work."""
    head = _survey(survey) | {"state": survey.state}
    return Table(*PLAN, [head | item.reed.to_dict() | _item(item) for item in plan.items])


def _survey(survey: StoredSurvey) -> dict[str, Value]:
    return {
        "survey": survey.number,
        "date": _date(survey),
        "pass": survey.pass_number,
        "instrument": survey.instrument,
        "instrument_name": survey.name,
        "layout": survey.layout,
    }


def _date(survey: StoredSurvey) -> str:
    """The day of the survey; empty where more than one day is possible."""
    if survey.unix_s is None:
        return ""
    first, last = date_bounds(survey.unix_s, survey.unix_within_s or 0.0)
    return last if first == last else ""


def _take(take: StoredTake, reed: InstrumentReed | None) -> dict[str, Value]:
    known = reed.to_dict() if reed else {column.name: None for column in _REED} | {"ordinal": take.ordinal}
    return known | {
        "take": take.number,
        "sequence": take.sequence,
        "state": take.state,
        "unix_s": take.unix_s,
        "span_s": take.span_s,
        "hz": take.hz,
        "cents": cents_between(take.hz, reed.target_hz) if take.hz and reed else None,
        "se_cents": take.se_cents if take.hz else None,
        "clock_u_cents": take.clock_u_cents,
        "check_cents": take.check_cents,
        "drift_cents_per_s": take.drift_cents_per_s,
        "level_dbfs": take.level_dbfs,
        "board_celsius": take.board_celsius,
        "flags": "; ".join(take.flags),
        "withdrawn": take.withdrawn,
    }


def _reading(reed: InstrumentReed, reading: Reading) -> dict[str, Value]:
    return {
        "hz": None if reading.cents is None else raised(reed.target_hz, reading.cents),
        "cents": reading.cents,
        "u95_cents": reading.u95_cents,
        "clock_u95_cents": reading.clock_u95_cents,
        "takes_used": "; ".join(map(str, reading.used)),
        "takes_left_out": "; ".join(str(left.number) for left in reading.left_out),
    }


def _item(item: Item) -> dict[str, Value]:
    return {
        "order": item.order,
        "reading_cents": item.reading.cents,
        "u95_cents": item.reading.u95_cents,
        "verdict": item.verdict,
        "action": item.action,
        "work": item.work_pass,
        "move_cents": item.move_cents,
        "stop_cents": item.stop_cents,
        "bench_stop_cents": item.bench_stop_cents,
        "jobs": "; ".join(item.jobs),
        "where": item.where,
        "thinner_percent": item.thinner_percent,
        "why": item.why,
    }
