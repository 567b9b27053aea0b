"""What the ledger hands out: rows of the wire's whole numbers, in the units people use."""

import math
import sqlite3
from dataclasses import dataclass
from typing import Any

from reedbench.documents import parse_json
from reedbench.firmware.wire import record

CENTS_PER_PPB = 1200 / math.log(2) * 1e-9


@dataclass(frozen=True)
class StoredSurvey:
    """A survey. `number` is its number in this ledger; meter, epoch, sequence identify it anywhere.

    `state`: how the reeds were sounded, in words; `states`: all of them where that changed on the way, the one that
    was sounded in last standing last, which is `state` then. `file`: the file that it was imported from, with so many
    `readings` and no takes; None for one of a meter.
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


@dataclass(frozen=True)
class StoredTake:
    """A take. `hz` None: no figure. `se_cents`: random standard error; `clock_u_cents`: the clock's own.

    `check_cents`: zero-crossing figure minus phase figure. `sequence`: number of its record in the meter's
    journal. `start_sample`: counted since power-up. `withdrawn`: the reed was sounded anew. Unknown
    times and temperatures are None.
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


@dataclass(frozen=True)
class StoredInstrument:
    """An instrument as it was added: `document` is its own description, as in its file."""

    key: str
    name: str
    layout: str
    document: Any


def flag_names(bits: int) -> tuple[str, ...]:
    """Names of the flags in `bits`; one that only a newer meter knows is not dropped."""
    strange = range(len(record.FLAGS), bits.bit_length())
    return (*record.flag_names(bits), *(f"flag {place}" for place in strange if bits >> place & 1))


def survey_from(row: sqlite3.Row) -> StoredSurvey:
    """A survey from its row and the rows joined to it."""
    numbers = map(int, (row["states"] or str(row["state"])).split(","))
    states = tuple(dict.fromkeys(str(record.state_words(number)) for number in numbers))
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
        unix_s=row["unix_s"] or None,
        reeds=row["reeds"],
        takes=row["takes"],
        ended=bool(row["ended"]),
        states=states,
        file=row["file"],
        readings=row["readings"],
    )


def take_from(row: sqlite3.Row) -> StoredTake:
    """A take from its row, in the units people use."""
    return StoredTake(
        sequence=row["sequence"],
        ordinal=row["ordinal"],
        number=row["number"],
        state=str(record.state_words(row["state"])),
        unix_s=row["unix_s"] or None,
        start_sample=row["start"],
        span_s=row["span"] / row["rate"] if row["rate"] else 0.0,
        hz=row["uhz"] / 1e6 if row["uhz"] else None,
        se_cents=row["se_mcent"] / 1e3,
        clock_u_cents=row["clock_u_ppb"] * CENTS_PER_PPB,
        check_cents=row["check_ccent"] / 1e2,
        drift_cents_per_s=row["drift_ccent_s"] / 1e2,
        level_dbfs=row["level_cdb"] / 1e2,
        flags=flag_names(row["flags"]),
        board_celsius=None if row["board_dc"] == record.NO_TEMPERATURE else row["board_dc"] / 10,
        withdrawn=bool(row["withdrawn"]),
    )


def instrument_from(row: sqlite3.Row) -> StoredInstrument:
    """An instrument from its row; BadInput where what is stored is no JSON object."""
    document = parse_json(row["document"].encode(), f"instrument {row['key']} in the ledger")
    return StoredInstrument(row["key"], row["name"], row["layout"], document)
