"""From raw records to rows, inside the transaction that keeps them."""

import sqlite3
import struct
import time
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from reedbench.errors import LinkFault
from reedbench.firmware.wire import record
from reedbench.firmware.wire.errors import WireError
from reedbench.ledger import dating

_TABLES = {
    "survey": "surveys",
    "take": "takes",
    "redo": "redos",
    "end": "ends",
    "sitting": "sittings",
    "strokes": "bench_strokes",
    "checked": "checks",
    "baseband": "basebands",
}
_COLUMNS = {
    "survey": (
        "record",
        "instrument",
        "name",
        "layout",
        "reeds",
        "state",
        "pass_number",
        "reference_mhz",
        "tolerance_cc",
        "unix_s",
    ),
    "take": (
        "record",
        "sequence",
        "survey",
        "ordinal",
        "number",
        "state",
        "unix_s",
        "start",
        "span",
        "rate",
        "uhz",
        "clock_ppb",
        "clock_u_ppb",
        "se_mcent",
        "check_ccent",
        "drift_ccent_s",
        "level_cdb",
        "flags",
        "board_dc",
        "boot",
        "up_s",
        "role",
        "scatter_mcent",
        "sitting",
    ),
    "redo": ("record", "sequence", "survey", "ordinal"),
    "end": ("record", "survey", "unix_s"),
    "sitting": (
        "record",
        "instrument",
        "name",
        "layout",
        "reeds",
        "doing",
        "pass_number",
        "reference_mhz",
        "tolerance_cc",
        "unix_s",
    ),
    "strokes": ("record", "sequence", "sitting", "ordinal", "strokes", "unix_s"),
    "checked": ("record", "sitting", "heard", "off", "moved", "worst", "worst_ccent", "unix_s"),
    "baseband": (
        "record",
        "sequence",
        "survey",
        "take",
        "ordinal",
        "harmonic",
        "count",
        "length",
        "turn",
        "rate",
        "clock_ppb",
        "points",
    ),
}

_OLD_TAKE = {"boot": None, "up_s": None, "role": 0, "scatter_mcent": None}  # what a take of kind 2 does not say


@dataclass(frozen=True)
class Sender:
    """The meter that records come from, and the epoch of the journal they lie in."""

    serial: str
    epoch: int
    board: str
    firmware: str


@dataclass(frozen=True)
class Kept:
    """What has been added: records in all, takes among them, numbers of the surveys they belong to (but for removed
    ones) and of the sittings, and records that are kept as they came because this version cannot read them."""

    records: int
    takes: int
    surveys: tuple[int, ...]
    unread: int
    sittings: tuple[int, ...] = ()


def insert(connection: sqlite3.Connection, sender: Sender, records: Sequence[bytes]) -> Kept:
    """Insert sound records, in order, and the rows made from them; what is here already does not count."""
    meter = meter_id(connection, sender)
    now = int(time.time())
    count: Counter[str] = Counter()
    touched: dict[str, set[int]] = {"survey": set(), "sitting": set()}
    for raw in records:
        sequence = record.sequence_of(raw)
        row = _insert_raw(connection, (meter, sender.epoch, sequence, raw[1], raw, now))
        if row is None:
            continue
        kind, values = _decode(raw)
        count[kind] += 1
        if kind == "unknown":
            continue
        values |= {"record": row, "sequence": sequence}
        if kind == "take":
            values["sitting"] = values["survey"]  # one of the two
        for home in touched:
            if home in values:
                values[home] = _home(connection, home, (meter, sender.epoch, values[home]))
        number = _insert_row(connection, kind, values)
        for home, numbers in touched.items():
            belongs = number if kind == home else values.get(home)
            if belongs is not None:
                numbers.add(belongs)
    if count["take"]:
        dating.date(connection, meter, sender.epoch)
    touched["survey"] -= {survey for (survey,) in connection.execute("SELECT survey FROM removed")}
    surveys, sittings = (tuple(sorted(numbers)) for numbers in touched.values())
    return Kept(count.total(), count["take"], surveys, count["unknown"], sittings)


def _home(connection: sqlite3.Connection, kind: str, identity: tuple[int, int, int]) -> int | None:
    """Number of the survey or sitting whose own record is (meter, epoch, sequence); None where the ledger has none."""
    found = connection.execute(
        f"SELECT number FROM {_TABLES[kind]} AS home JOIN records ON records.id = home.record"
        " WHERE meter = ? AND epoch = ? AND sequence = ?",
        identity,
    ).fetchone()
    return found[0] if found else None


def meter_id(connection: sqlite3.Connection, sender: Sender) -> int:
    """Id of the sender's row, made if it is new here."""
    found = connection.execute(
        "INSERT INTO meters (serial, board, firmware) VALUES (?, ?, ?) ON CONFLICT (serial) DO UPDATE SET"
        " board = excluded.board, firmware = excluded.firmware RETURNING id",
        (sender.serial, sender.board, sender.firmware),
    )
    return int(found.fetchone()[0])


def _insert_raw(connection: sqlite3.Connection, values: tuple[Any, ...]) -> int | None:
    """Id of the new row, or None where the ledger has this very record already."""
    done = connection.execute(
        "INSERT INTO records (meter, epoch, sequence, kind, raw, pulled_unix_s) VALUES (?, ?, ?, ?, ?, ?)"
        " ON CONFLICT (meter, epoch, sequence) DO NOTHING",
        values,
    )
    if done.rowcount:
        return done.lastrowid
    meter, epoch, sequence, _, raw, _ = values
    here = connection.execute(
        "SELECT raw FROM records WHERE meter = ? AND epoch = ? AND sequence = ?", (meter, epoch, sequence)
    ).fetchone()[0]
    if here != raw:
        raise LinkFault(f"the meter sent record {sequence} with other content than before: nothing was kept")
    return None


def _decode(raw: bytes) -> tuple[str, dict[str, Any]]:
    """Kind and values; kind "unknown" for a sound record that this version cannot read."""
    try:
        kind, _, values = record.unpack(raw)
        return kind, values
    except WireError:
        return "unknown", {}


def _insert_row(connection: sqlite3.Connection, kind: str, values: dict[str, Any]) -> int | None:
    columns = _COLUMNS[kind]
    if kind == "baseband":
        values = values | {"points": struct.pack(f"<{len(values['points'])}h", *values["points"])}
    marks = ", ".join("?" * len(columns))
    return connection.execute(
        f"INSERT INTO {_TABLES[kind]} ({', '.join(columns)}) VALUES ({marks})",
        [(_OLD_TAKE | values)[column] for column in columns],
    ).lastrowid
