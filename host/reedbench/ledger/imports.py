"""Readings that came from a file: kept as a survey of their own, with the file itself, once however often it comes."""

import hashlib
import json
import sqlite3
import time
from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.firmware.wire import record
from reedbench.ledger import schema

NOBODY = ""  # serial number of the meter that imported readings come from; no real one has it


@dataclass(frozen=True)
class ImportedReading:
    """One reed's reading: pitch in hertz and its 95 % uncertainty as stated, in cents."""

    ordinal: int
    hz: float
    u95_cents: float
    remark: str = ""


@dataclass(frozen=True)
class Imported:
    """A file of readings of one instrument. `state` in words, `unix_s` 0 where undated; `raw` is the file."""

    instrument: str
    name: str
    layout: str
    reeds: int
    state: str
    pass_number: int
    reference_hz: float
    tolerance_cents: float
    unix_s: int
    file: str
    raw: bytes
    readings: Sequence[ImportedReading]

    @property
    def digest(self) -> str:
        """The same for the same readings, however the file is written."""
        what = [(one.ordinal, round(one.hz * 1e6), round(one.u95_cents * 1e3)) for one in self.readings]
        text = json.dumps([self.instrument, self.state, self.pass_number, self.unix_s, sorted(what)])
        return hashlib.sha256(text.encode()).hexdigest()


def insert_import(connection: sqlite3.Connection, imported: Imported) -> tuple[int, bool]:
    """Number of its survey, and whether that is new, or shown again after it was removed; inside a transaction."""
    here = connection.execute("SELECT survey FROM imports WHERE digest = ?", (imported.digest,)).fetchone()
    if here:
        removed = connection.execute("DELETE FROM removed WHERE survey = ?", here).rowcount
        return int(here[0]), bool(removed)
    number = _insert_survey(connection, imported, _insert_file(connection, imported.raw))
    connection.execute("INSERT INTO imports VALUES (?, ?, ?)", (number, imported.digest, imported.file))
    connection.executemany(
        "INSERT INTO imported VALUES (?, ?, ?, ?, ?)",
        [
            (number, one.ordinal, round(one.hz * 1e6), round(one.u95_cents * 1e3), one.remark)
            for one in imported.readings
        ],
    )
    return number, True


def _insert_file(connection: sqlite3.Connection, raw: bytes) -> int | None:
    connection.execute(
        "INSERT INTO meters (serial, board, firmware) VALUES (?, '', '') ON CONFLICT DO NOTHING", (NOBODY,)
    )
    return connection.execute(
        "INSERT INTO records (meter, epoch, sequence, kind, raw, pulled_unix_s)"
        " SELECT id, 0, (SELECT coalesce(max(sequence) + 1, 0) FROM records WHERE meter = meters.id), ?, ?, ?"
        " FROM meters WHERE serial = ?",
        (schema.IMPORTED, raw, int(time.time()), NOBODY),
    ).lastrowid


def _insert_survey(connection: sqlite3.Connection, imported: Imported, row: int | None) -> int:
    values = {
        "record": row,
        "instrument": imported.instrument,
        "name": imported.name,
        "layout": imported.layout,
        "reeds": imported.reeds,
        "state": record.state_byte(imported.state),
        "pass_number": imported.pass_number,
        "reference_mhz": round(imported.reference_hz * 1e3),
        "tolerance_cc": round(imported.tolerance_cents * 1e2),
        "unix_s": imported.unix_s,
    }
    marks = ", ".join(f":{name}" for name in values)
    number = connection.execute(f"INSERT INTO surveys ({', '.join(values)}) VALUES ({marks})", values).lastrowid
    assert number is not None
    return number
