"""What the ledger hands out: rows of the wire's whole numbers, in the units people use."""

import math
import sqlite3
import struct
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, NamedTuple

from reedbench.clock import Sighting
from reedbench.documents import parse_json
from reedbench.firmware.wire import record

TOLD_S = 2.0  # give or take, of a time that a host told the meter in whole seconds
DAY_S = 86400.0
CENTS_PER_PPB = 1200 / math.log(2) * 1e-9

_BEFORE_TRACE = record.TAKE[: [name for name, _ in record.TAKE].index("trace_ccent")]
_TRACE_AT = record.HEAD_SIZE + struct.calcsize("<" + "".join(code for _, code in _BEFORE_TRACE))
_TRACE = struct.Struct(f"<{record.TRACE_POINTS}h{record.TRACE_POINTS}b")


@dataclass(frozen=True)
class StoredSurvey:
    """A survey. `number` is its number in this ledger; meter, epoch, sequence identify it anywhere.

    `state`: how the reeds were sounded, in words; `states`: all of them where that changed on the way, the one that
    was sounded in last standing last, which is `state` then. `unix_s`: when it began, give or take `unix_within_s`
    seconds, both None where nobody knows; `since_unix_s`: the same, or else when it came into the ledger. `file`: the
    file that it was imported from, with so many `readings` and no takes; None for one of a meter.
    """

    number: int
    meter: str
    epoch: int
    sequence: int
    instrument: str
    name: str
    layout: str
    state: str
    pass_number: int
    reference_hz: float
    tolerance_cents: float
    unix_s: int | None
    reeds: int
    takes: int
    ended: bool
    states: tuple[str, ...] = ()
    file: str | None = None
    readings: int = 0
    unix_within_s: float | None = None
    since_unix_s: float = 0

    def sounded(self, state: str) -> "StoredSurvey":
        """The survey as it was sounded in that one of its states."""
        return replace(self, state=state)

    def days_since(self, other: "StoredSurvey") -> float | None:
        """Time from another survey to this one, where both are dated."""
        if self.unix_s is None or other.unix_s is None:
            return None
        return (self.unix_s - other.unix_s) / DAY_S

    @property
    def place(self) -> tuple[float, int]:
        """Sorts surveys as they were sounded."""
        return self.since_unix_s, self.number


class TakeRow(NamedTuple):
    """What `take_from` is made of: columns of the table of takes, then what is found out beside them."""

    sequence: int
    ordinal: int
    number: int
    state: int
    unix_s: int
    start: int
    span: int
    rate: int
    uhz: int
    se_mcent: int
    clock_u_ppb: int
    check_ccent: int
    drift_ccent_s: int
    level_cdb: int
    flags: int
    board_dc: int
    up_s: int | None
    role: int
    scatter_mcent: int | None
    earliest_s: float | None  # between these it was sounded
    latest_s: float | None
    withdrawn: int


TAKE = TakeRow._fields[: TakeRow._fields.index("earliest_s")]


class StoredTake(NamedTuple):
    """A take. `hz` None: no figure. `se_cents`: random standard error; `clock_u_cents`: the clock's own.

    `check_cents`: zero-crossing figure minus phase figure. `sequence`: number of its record in the meter's
    journal. `unix_s`: when, give or take `unix_within_s` seconds. `start_sample` and `up_s` count from power-up.
    `role`: 0 for a reed's own turn, 1 and 2 where it was sounded again as the control reed. `scatter_cents`: what the
    survey had scattered by before it, as the meter had it. `withdrawn`: the reed was sounded anew. What is not known
    is None.
    """

    sequence: int
    ordinal: int
    number: int
    state: str
    unix_s: int | None
    start_sample: int
    span_s: float
    hz: float | None
    se_cents: float
    clock_u_cents: float
    check_cents: float
    drift_cents_per_s: float
    level_dbfs: float
    flags: tuple[str, ...]
    board_celsius: float | None
    withdrawn: bool
    unix_within_s: float | None = None
    up_s: int | None = None
    role: int = 0
    scatter_cents: float | None = None


class Trace(NamedTuple):
    """How a take went over its span, at TRACE_POINTS points of equal distance, in the wire's whole numbers.

    `ccent`: pitch from the take's figure, in hundredths of a cent; `qdb`: level from the take's, in quarters of a dB.
    """

    ccent: tuple[int, ...]
    qdb: tuple[int, ...]

    @property
    def cents(self) -> list[float]:
        """Pitch from the take's figure."""
        return [value / 100 for value in self.ccent]

    @property
    def decibels(self) -> list[float]:
        """Level from the take's level."""
        return [value / 4 for value in self.qdb]


@dataclass(frozen=True)
class StoredSitting:
    """What was done beside surveys: `doing` "bench" or "check"; `strokes` at the bench.

    `heard`, `off`, `moved`: reeds of a check that was brought to its end, None otherwise.
    """

    number: int
    instrument: str
    name: str
    doing: str
    pass_number: int
    unix_s: int | None
    takes: int
    strokes: int
    heard: int | None
    off: int | None
    moved: int | None


@dataclass(frozen=True)
class StoredBaseband:
    """One harmonic of the baseband of a take. `take`: sequence number of that take's record in the meter's journal.

    `points`: real and imaginary parts in turn; `turn`: of the first harmonic's oscillator in a block of `length`
    samples, in 1/2048; `rate_hz`: true samples a second.
    """

    take: int
    harmonic: int
    length: int
    turn: int
    rate_hz: float
    points: tuple[int, ...]


@dataclass(frozen=True)
class StoredInstrument:
    """An instrument as it was added: `document` is its own description, as in its file."""

    key: str
    name: str
    layout: str
    document: Any


@cache
def flag_names(bits: int) -> tuple[str, ...]:
    """Names of the flags in `bits`; one that only a newer meter knows is not dropped."""
    strange = range(len(record.FLAGS), bits.bit_length())
    return (*record.flag_names(bits), *(f"flag {place}" for place in strange if bits >> place & 1))


def survey_from(row: sqlite3.Row) -> StoredSurvey:
    """A survey from its row and the rows joined to it."""
    numbers = map(int, (row["states"] or str(row["state"])).split(","))
    states = tuple(dict.fromkeys(map(_state_words, numbers)))
    since_s, within_s = _when(row["unix_s"], row["earliest_s"], row["latest_s"])
    return StoredSurvey(
        number=row["number"],
        meter=row["serial"],
        epoch=row["epoch"],
        sequence=row["sequence"],
        instrument=row["instrument"],
        name=row["name"],
        layout=row["layout"],
        state=states[-1],
        pass_number=row["pass_number"],
        reference_hz=row["reference_mhz"] / 1e3,
        tolerance_cents=row["tolerance_cc"] / 1e2,
        unix_s=since_s,
        reeds=row["reeds"],
        takes=row["takes"],
        ended=bool(row["ended"]),
        states=states,
        file=row["file"],
        readings=row["readings"],
        unix_within_s=None if row["file"] is not None else within_s,
        since_unix_s=row["since_unix_s"],
    )


def sitting_from(row: sqlite3.Row) -> StoredSitting:
    """A sitting from its row and the rows joined to it; a kind that only a newer version knows keeps its number."""
    doing = row["doing"]
    return StoredSitting(
        number=row["number"],
        instrument=row["instrument"],
        name=row["name"],
        doing=record.SITTINGS[doing] if doing < len(record.SITTINGS) else f"sitting {doing}",
        pass_number=row["pass_number"],
        unix_s=row["unix_s"] or None,
        takes=row["takes"],
        strokes=row["strokes"] or 0,
        heard=row["heard"],
        off=row["off"],
        moved=row["moved"],
    )


def take_from(row: TakeRow) -> StoredTake:
    """A take in the units people use."""
    since_s, within_s = _when(row.unix_s, row.earliest_s, row.latest_s)
    return StoredTake(
        sequence=row.sequence,
        ordinal=row.ordinal,
        number=row.number,
        state=_state_words(row.state),
        unix_s=since_s,
        start_sample=row.start,
        span_s=row.span / row.rate if row.rate else 0.0,
        hz=row.uhz / 1e6 if row.uhz else None,
        se_cents=row.se_mcent / 1e3,
        clock_u_cents=row.clock_u_ppb * CENTS_PER_PPB,
        check_cents=row.check_ccent / 1e2,
        drift_cents_per_s=row.drift_ccent_s / 1e2,
        level_dbfs=row.level_cdb / 1e2,
        flags=flag_names(row.flags),
        board_celsius=None if row.board_dc == record.NO_TEMPERATURE else row.board_dc / 10,
        withdrawn=bool(row.withdrawn),
        unix_within_s=within_s,
        up_s=row.up_s,
        role=row.role,
        scatter_cents=row.scatter_mcent / 1e3 if row.scatter_mcent else None,
    )


@cache
def _state_words(byte: int) -> str:
    return str(record.state_words(byte))


def _when(unix_s: int, earliest_s: float | None, latest_s: float | None) -> tuple[int | None, float | None]:
    """(seconds since 1970, give or take so many): as the ledger found it out, else as the meter had been told."""
    if earliest_s is not None and latest_s is not None:
        half = (latest_s - earliest_s) / 2
        return round(earliest_s + half), round(max(half, 1.0), 1)
    return (unix_s, TOLD_S) if unix_s else (None, None)


def sighting_from(row: sqlite3.Row) -> Sighting:
    """A sighting from its row."""
    return Sighting(
        asked_s=row["asked_s"],
        answered_s=row["answered_s"],
        boot=row["boot"],
        up_s=row["up_s"],
        meter_us=row["meter_us"],
        began_s=row["began_s"],
        held=bool(row["held"]),
    )


def trace_from(raw: bytes) -> Trace:
    """The trace in the record of a take, which was seen to be sound when the ledger took it in."""
    values = _TRACE.unpack_from(raw, _TRACE_AT)
    return Trace(values[: record.TRACE_POINTS], values[record.TRACE_POINTS :])


def baseband_from(row: sqlite3.Row) -> StoredBaseband:
    """A harmonic of a baseband from its row."""
    points = struct.unpack(f"<{len(row['points']) // 2}h", row["points"])[: 2 * row["count"]]
    rate_hz = row["rate"] * (1 + row["clock_ppb"] * 1e-9)
    return StoredBaseband(row["take"], row["harmonic"], row["length"], row["turn"], rate_hz, points)


def instrument_from(row: sqlite3.Row) -> StoredInstrument:
    """An instrument from its row; BadInput where what is stored is no JSON object."""
    document = parse_json(row["document"].encode(), f"instrument {row['key']} in the ledger")
    return StoredInstrument(row["key"], row["name"], row["layout"], document)
