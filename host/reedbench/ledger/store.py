"""The ledger as the commands use it: keep what a meter sent, hand out surveys, takes and instruments."""

import json
import sqlite3
import time
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from reedbench.clock import Sighting
from reedbench.errors import BadInput
from reedbench.ledger import dating, rows
from reedbench.ledger.decoding import Kept, Sender, insert, meter_id
from reedbench.ledger.holder import held
from reedbench.ledger.imports import Imported, ImportedReading, insert_import
from reedbench.ledger.opening import connect, plain_words

SIGHTINGS_MOST = 2000  # some hundred loads and pulls

_FROM_SURVEYS = """
    FROM surveys
    LEFT JOIN imports ON imports.survey = surveys.number
    JOIN records ON records.id = surveys.record
    JOIN meters ON meters.id = records.meter
    LEFT JOIN takes AS first ON first.record = (
        SELECT record FROM takes WHERE takes.survey = surveys.number ORDER BY sequence LIMIT 1
    )
    LEFT JOIN runs ON runs.meter = records.meter AND runs.epoch = records.epoch AND runs.boot = first.boot
    WHERE surveys.number NOT IN (SELECT survey FROM removed)
"""
_SINCE = (
    "coalesce((runs.earliest_s + runs.latest_s) / 2 + first.up_s, nullif(surveys.unix_s, 0), records.pulled_unix_s)"
)
_SURVEYS = f"""
    SELECT surveys.*, meters.serial, records.epoch, records.sequence, {_SINCE} AS since_unix_s,
        (SELECT count(*) FROM takes WHERE takes.survey = surveys.number) AS takes,
        (SELECT group_concat(state) FROM (
            SELECT state FROM takes WHERE takes.survey = surveys.number GROUP BY state ORDER BY max(sequence)
        )) AS states,
        EXISTS (SELECT 1 FROM ends WHERE ends.survey = surveys.number) OR imports.file IS NOT NULL AS ended,
        imports.file,
        (SELECT count(*) FROM imported WHERE imported.survey = surveys.number) AS readings,
        runs.earliest_s + first.up_s AS earliest_s, runs.latest_s + first.up_s + 1 AS latest_s
    {_FROM_SURVEYS}
"""
# By itself, since SQLite works out all that it sorts, and all but one survey's would be for nothing.
_NEWEST = f"SELECT surveys.number {_FROM_SURVEYS} ORDER BY {_SINCE} DESC, surveys.number DESC LIMIT 1"

_SITTING = """
    SELECT sittings.*, checks.heard, checks.off, checks.moved,
        (SELECT count(*) FROM takes WHERE takes.sitting = sittings.number) AS takes,
        (SELECT sum(strokes) FROM bench_strokes AS made WHERE made.sitting = sittings.number) AS strokes
    FROM sittings
    LEFT JOIN checks ON checks.sitting = sittings.number
    WHERE sittings.number = ?
    ORDER BY checks.record DESC LIMIT 1
"""

# A redo withdraws the takes of its reed that came before it in the same state and role: those of the take after it.
_TAKES = f"""
    SELECT {", ".join(f"takes.{column}" for column in rows.TAKE)},
        runs.earliest_s + takes.up_s AS earliest_s, runs.latest_s + takes.up_s + 1 AS latest_s, EXISTS (
        SELECT 1 FROM redos
        WHERE redos.survey = takes.survey AND redos.ordinal = takes.ordinal
        AND redos.sequence > takes.sequence
        AND takes.state + 256 * takes.role = coalesce((
            SELECT next.state + 256 * next.role FROM takes AS next
            WHERE next.survey = redos.survey AND next.ordinal = redos.ordinal AND next.sequence > redos.sequence
            ORDER BY next.sequence LIMIT 1
        ), takes.state + 256 * takes.role)
    ) AS withdrawn
    FROM takes
    JOIN records ON records.id = takes.record
    LEFT JOIN runs ON runs.meter = records.meter AND runs.epoch = records.epoch AND runs.boot = takes.boot
    WHERE takes.survey = ? ORDER BY takes.sequence
"""


_BASEBANDS = """
    SELECT basebands.* FROM basebands
    JOIN takes ON takes.survey = basebands.survey AND takes.sequence = basebands.take
        AND takes.ordinal = basebands.ordinal
    WHERE basebands.survey = ? AND basebands.take - basebands.sequence = (
        SELECT count(*) FROM basebands AS later
        WHERE later.survey = basebands.survey AND later.take = basebands.take AND later.sequence >= basebands.sequence
    )
    ORDER BY basebands.take, harmonic
"""


class Ledger:
    """An open ledger. Made by `Ledger.open`; use it in a `with` statement."""

    def __init__(self, connection: sqlite3.Connection, path: Path) -> None:
        self._connection = connection
        self.path = path
        connection.row_factory = sqlite3.Row
        self.identity = str(self._all("SELECT ledger FROM identity")[0][0])

    @classmethod
    def open(cls, path: Path, write: bool = False) -> Self:
        """Open the ledger at `path`; with `write`, begin it if there is none.

        Raises Failed, saying what to do, for a file that is not a ledger, is newer than this program, or
        cannot be written although `write` was asked for.
        """
        return cls(connect(path, write), path)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._connection.close()

    def _all(self, query: str, values: Sequence[Any] = ()) -> list[sqlite3.Row]:
        with plain_words(self.path):
            return self._connection.execute(query, values).fetchall()

    @contextmanager
    def _transaction(self) -> Iterator[sqlite3.Connection]:
        with plain_words(self.path):
            self._connection.execute("BEGIN IMMEDIATE")
            try:
                with held(self.path):
                    yield self._connection
                self._connection.execute("COMMIT")
                # Into the file itself, as far as nobody reads it: a copy of it alone is then the whole ledger.
                self._connection.execute("PRAGMA wal_checkpoint(PASSIVE)")
            except BaseException:
                if self._connection.in_transaction:
                    self._connection.execute("ROLLBACK")
                raise

    def next_sequence(self, serial: str, epoch: int) -> int:
        """Number after the last record of this meter and epoch that the ledger has; 0 for a new one."""
        found = self._all(
            "SELECT max(sequence) + 1 FROM records JOIN meters ON meters.id = records.meter"
            " WHERE serial = ? AND epoch = ?",
            (serial, epoch),
        )
        return int(found[0][0] or 0)

    def keep(self, sender: Sender, records: Sequence[bytes]) -> Kept:
        """Keep sound `records` of one meter and epoch, all or none, each once however often it comes."""
        with self._transaction() as connection:
            return insert(connection, sender, records)

    def keep_sightings(self, sender: Sender, next_sequence: int, sightings: Sequence[Sighting]) -> None:
        """Keep what was seen of a meter's clock when its next record was to get that number; dates its takes anew."""
        with self._transaction() as connection:
            meter = meter_id(connection, sender)
            connection.executemany(
                "INSERT INTO sightings VALUES (:meter, :epoch, :boot, :next_sequence, :up_s, :meter_us,"
                " :asked_s, :answered_s, :began_s, :held)",
                [
                    {"meter": meter, "epoch": sender.epoch, "next_sequence": next_sequence} | asdict(one)
                    for one in sightings
                ],
            )
            dating.date(connection, meter, sender.epoch)

    def sightings(self, serial: str) -> list[Sighting]:
        """The last that was seen of that meter's clock: a crystal ages, and what it did years ago says little."""
        found = self._all(
            "SELECT sightings.* FROM sightings JOIN meters ON meters.id = sightings.meter WHERE serial = ?"
            " ORDER BY sightings.rowid DESC LIMIT ?",
            (serial, SIGHTINGS_MOST),
        )
        return [rows.sighting_from(row) for row in found]

    def keep_import(self, imported: Imported) -> tuple[int, bool]:
        """Keep readings from a file as a survey: its number, and False where the ledger has had it already."""
        with self._transaction() as connection:
            return insert_import(connection, imported)

    def imported(self, survey: int) -> list[ImportedReading]:
        """The readings of the imported survey of that number, by the ordinal of the reed."""
        found = self._all("SELECT * FROM imported WHERE survey = ? ORDER BY ordinal", (survey,))
        return [
            ImportedReading(row["ordinal"], row["uhz"] / 1e6, row["u95_mcent"] / 1e3, row["remark"]) for row in found
        ]

    def surveys(self, instrument: str | None = None) -> list[rows.StoredSurvey]:
        """All surveys, or those of the instrument of that key, in the order in which they came into the ledger."""
        if instrument is None:
            return [rows.survey_from(row) for row in self._all(_SURVEYS + " ORDER BY surveys.number")]
        if instrument.encode(errors="replace").decode() != instrument:
            return []  # half a character, which SQLite would not take
        of_it = self._all(_SURVEYS + " AND surveys.instrument = ? ORDER BY surveys.number", (instrument,))
        return [rows.survey_from(row) for row in of_it]

    def survey(self, number: int | None) -> rows.StoredSurvey:
        """The survey of that number, or the one sounded last for None; BadInput if there is none."""
        if number is None:
            newest = self._all(_NEWEST)
            if not newest:
                raise BadInput("there is no survey in the ledger yet: `reedbench pull` brings them from the meter")
            number = newest[0]["number"]
        found = self._all(_SURVEYS + " AND surveys.number = ?", (number,))
        if not found:
            raise BadInput(f"there is no survey {number} in the ledger: see `reedbench survey list`")
        return rows.survey_from(found[0])

    def remove_survey(self, number: int) -> None:
        """Show a survey no more; all of it stays in the ledger. BadInput if there is none of that number."""
        self.survey(number)
        with self._transaction() as connection:
            connection.execute("INSERT INTO removed VALUES (?) ON CONFLICT DO NOTHING", (number,))

    def bring_back_survey(self, number: int) -> None:
        """Show a survey again that was removed; BadInput if none of that number was."""
        with self._transaction() as connection:
            if not connection.execute("DELETE FROM removed WHERE survey = ?", (number,)).rowcount:
                raise BadInput(f"no survey {number} was removed from the ledger: see `reedbench survey list`")

    def passes(self) -> list[tuple[int, str, int]]:
        """(number, key of the instrument, pass that it followed) of all surveys, in the order in which they came."""
        found = self._all(
            "SELECT number, instrument, pass_number FROM surveys"
            " WHERE number NOT IN (SELECT survey FROM removed) ORDER BY number"
        )
        return [(row["number"], row["instrument"], row["pass_number"]) for row in found]

    def takes(self, survey: int) -> list[rows.StoredTake]:
        """The takes of the survey of that number, withdrawn ones too, in the order of sounding."""
        return [rows.take_from(rows.TakeRow(*row)) for row in self._all(_TAKES, (survey,))]

    def traces(self, survey: int) -> dict[int, rows.Trace]:
        """How pitch and level went in each take of that survey, by the number of its record."""
        found = self._all(
            "SELECT takes.sequence, records.raw FROM takes JOIN records ON records.id = takes.record WHERE survey = ?",
            (survey,),
        )
        return {row["sequence"]: rows.trace_from(row["raw"]) for row in found}

    def keep_strokes(self, survey: int, strokes: Mapping[tuple[int, str], int]) -> None:
        """Keep how many strokes reeds got in the pass that followed a survey, in place of earlier counts of these.

        `strokes`: by ordinal of the reed and what was done, "raise" or "lower".
        """
        with self._transaction() as connection:
            connection.executemany(
                "INSERT INTO strokes VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET strokes = excluded.strokes",
                [(survey, ordinal, action, count) for (ordinal, action), count in strokes.items()],
            )

    def strokes(self, survey: int) -> dict[tuple[int, str], int]:
        """Strokes in the pass that followed the survey of that number, as `keep_strokes` has them."""
        found = self._all("SELECT * FROM strokes WHERE survey = ? ORDER BY ordinal, action", (survey,))
        return {(row["ordinal"], row["action"]): row["strokes"] for row in found}

    def counted(self) -> list[int]:
        """Numbers of the surveys after which strokes were counted."""
        found = self._all(
            "SELECT DISTINCT survey FROM strokes WHERE survey NOT IN (SELECT survey FROM removed) ORDER BY survey"
        )
        return [row["survey"] for row in found]

    def benched(self, survey: rows.StoredSurvey) -> dict[int, int]:
        """Strokes by ordinal that the meter counted at the bench after that survey, before the pass was over."""
        found = self._all(
            "SELECT ordinal, sum(strokes) AS strokes FROM bench_strokes"
            " JOIN sittings ON sittings.number = bench_strokes.sitting"
            " WHERE instrument = ? AND pass_number = ?"
            " AND sittings.record > (SELECT record FROM surveys WHERE number = ?) GROUP BY ordinal",
            (survey.instrument, survey.pass_number, survey.number),
        )
        return {row["ordinal"]: row["strokes"] for row in found}

    def sitting(self, number: int) -> rows.StoredSitting:
        """The sitting of that number, which there must be: a bench or a check that was pulled."""
        return rows.sitting_from(self._all(_SITTING, (number,))[0])

    def basebands(self, survey: int) -> list[rows.StoredBaseband]:
        """What was kept of that survey's takes in which two reeds sounded, harmonic by harmonic."""
        return [rows.baseband_from(row) for row in self._all(_BASEBANDS, (survey,))]

    def keep_instrument(self, key: str, name: str, layout: str, document: dict[str, Any]) -> None:
        """Keep an instrument's own description, in place of an earlier one under the same key."""
        text = json.dumps(document, ensure_ascii=False, allow_nan=False)
        with self._transaction() as connection:
            connection.execute(
                "INSERT INTO instruments VALUES (?, ?, ?, ?, ?) ON CONFLICT (key) DO UPDATE SET"
                " name = excluded.name, layout = excluded.layout, document = excluded.document,"
                " stored_unix_s = excluded.stored_unix_s",
                (key, name, layout, text, int(time.time())),
            )

    def remove_instrument(self, key: str) -> None:
        """Forget an instrument; BadInput if there is none, or if surveys of it would lose their targets."""
        self.instrument(key)
        surveys = [one.number for one in self.surveys(key)]
        if surveys:
            named = ", ".join(map(str, surveys[:5])) + (", ..." if len(surveys) > 5 else "")
            raise BadInput(f"instrument {key} has surveys ({named}), which would lose their targets: it stays")
        with self._transaction() as connection:
            connection.execute("DELETE FROM instruments WHERE key = ?", (key,))

    def instruments(self) -> list[rows.StoredInstrument]:
        """All instruments, by key."""
        return [rows.instrument_from(row) for row in self._all("SELECT * FROM instruments ORDER BY key")]

    def instrument(self, key: str) -> rows.StoredInstrument:
        """The instrument of that key; BadInput if there is none."""
        # What cannot be printed, such as half a character, is no key and nothing that SQLite would take.
        found = self._all("SELECT * FROM instruments WHERE key = ?", (key,)) if key.isprintable() else []
        if not found:
            raise BadInput(f"there is no instrument {key} in the ledger: `reedbench instrument add FILE` adds it")
        return rows.instrument_from(found[0])
