"""Tables of the ledger, as numbered steps from an empty file to the present schema.

A step and the record that it was taken are committed together. Steps are never edited once released: a change
is a new step.

`records` holds every record as it came, byte for byte; the other tables made from them (`surveys`, `takes`, `redos`,
`ends`, `sittings`, `strokes`, `checks`, `basebands`) can be made again from `records` at any time. A file of readings
that was imported stands there too, as a record of IMPORTED under a meter without a serial number, which no meter is;
what was read from it, with the instrument as it was then, stands in `imports` and `imported`. Numbers keep the units
and scales of wire/record.py, whose field names they carry. `survey` is the number of the survey in this ledger; it is
NULL where the survey's own record is missing here, because another ledger pulled it and freed it.
"""

import sqlite3
import time

APPLICATION_ID = 0x5265_6564  # "Reed" in the file's header tells a ledger from any other SQLite file
IMPORTED = 0  # kind of a record that is an imported file; those of meters begin at 1

_FIRST = (
    """CREATE TABLE identity (
        only INTEGER PRIMARY KEY CHECK (only = 1),
        ledger TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE meters (
        id INTEGER PRIMARY KEY,
        serial TEXT NOT NULL UNIQUE,
        board TEXT NOT NULL,
        firmware TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE records (
        id INTEGER PRIMARY KEY,
        meter INTEGER NOT NULL REFERENCES meters (id),
        epoch INTEGER NOT NULL,
        sequence INTEGER NOT NULL,
        kind INTEGER NOT NULL,
        raw BLOB NOT NULL,
        pulled_unix_s INTEGER NOT NULL,
        UNIQUE (meter, epoch, sequence)
    ) STRICT""",
    """CREATE TABLE surveys (
        number INTEGER PRIMARY KEY,
        record INTEGER NOT NULL UNIQUE REFERENCES records (id),
        instrument TEXT NOT NULL,
        name TEXT NOT NULL,
        layout TEXT NOT NULL,
        reeds INTEGER NOT NULL,
        state INTEGER NOT NULL,
        pass_number INTEGER NOT NULL,
        reference_mhz INTEGER NOT NULL,
        tolerance_cc INTEGER NOT NULL,
        unix_s INTEGER NOT NULL
    ) STRICT""",
    """CREATE TABLE takes (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        sequence INTEGER NOT NULL,
        survey INTEGER REFERENCES surveys (number),
        ordinal INTEGER NOT NULL,
        number INTEGER NOT NULL,
        state INTEGER NOT NULL,
        unix_s INTEGER NOT NULL,
        start INTEGER NOT NULL,
        span INTEGER NOT NULL,
        rate INTEGER NOT NULL,
        uhz INTEGER NOT NULL,
        clock_ppb INTEGER NOT NULL,
        clock_u_ppb INTEGER NOT NULL,
        se_mcent INTEGER NOT NULL,
        check_ccent INTEGER NOT NULL,
        drift_ccent_s INTEGER NOT NULL,
        level_cdb INTEGER NOT NULL,
        flags INTEGER NOT NULL,
        board_dc INTEGER NOT NULL
    ) STRICT""",
    "CREATE INDEX takes_by_survey ON takes (survey, sequence)",
    """CREATE TABLE redos (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        sequence INTEGER NOT NULL,
        survey INTEGER REFERENCES surveys (number),
        ordinal INTEGER NOT NULL
    ) STRICT""",
    "CREATE INDEX redos_by_survey ON redos (survey, ordinal, sequence)",
    """CREATE TABLE ends (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        survey INTEGER REFERENCES surveys (number),
        unix_s INTEGER NOT NULL
    ) STRICT""",
    "CREATE INDEX ends_by_survey ON ends (survey)",
    """CREATE TABLE instruments (
        key TEXT PRIMARY KEY,
        name TEXT NOT NULL,
        layout TEXT NOT NULL,
        document TEXT NOT NULL,
        stored_unix_s INTEGER NOT NULL
    ) STRICT""",
    "INSERT INTO identity (only, ledger) VALUES (1, lower(hex(randomblob(16))))",
)

# Readings that came from a file instead of a meter. `digest` tells a file that comes again.
_IMPORTS = (
    """CREATE TABLE imports (
        survey INTEGER PRIMARY KEY REFERENCES surveys (number),
        digest TEXT NOT NULL UNIQUE,
        file TEXT NOT NULL
    ) STRICT""",
    """CREATE TABLE imported (
        survey INTEGER NOT NULL REFERENCES surveys (number),
        ordinal INTEGER NOT NULL,
        uhz INTEGER NOT NULL,
        u95_mcent INTEGER NOT NULL,
        remark TEXT NOT NULL,
        PRIMARY KEY (survey, ordinal)
    ) STRICT""",
)

# When and by which clock takes were made, and what is known about those clocks. `sightings` is like `records` what has
# come and cannot be made again; `runs` is made from both: bounds of when each run of a meter began.
_CLOCKS = (
    """CREATE TABLE sightings (
        meter INTEGER NOT NULL REFERENCES meters (id),
        epoch INTEGER NOT NULL,
        boot INTEGER NOT NULL,
        next_sequence INTEGER NOT NULL,
        up_s INTEGER NOT NULL,
        meter_us INTEGER NOT NULL,
        asked_s REAL NOT NULL,
        answered_s REAL NOT NULL,
        began_s REAL NOT NULL,
        held INTEGER NOT NULL
    ) STRICT""",
    "CREATE INDEX sightings_by_meter ON sightings (meter, epoch)",
    """CREATE TABLE runs (
        meter INTEGER NOT NULL REFERENCES meters (id),
        epoch INTEGER NOT NULL,
        boot INTEGER NOT NULL,
        earliest_s REAL NOT NULL,
        latest_s REAL NOT NULL,
        PRIMARY KEY (meter, epoch, boot)
    ) STRICT""",
    "ALTER TABLE takes ADD COLUMN boot INTEGER",
    "ALTER TABLE takes ADD COLUMN up_s INTEGER",
    "ALTER TABLE takes ADD COLUMN role INTEGER NOT NULL DEFAULT 0",
    "ALTER TABLE takes ADD COLUMN scatter_mcent INTEGER",
)

# Strokes that reeds got in the pass that followed a survey.
_STROKES = (
    """CREATE TABLE strokes (
        survey INTEGER NOT NULL REFERENCES surveys (number),
        ordinal INTEGER NOT NULL,
        action TEXT NOT NULL CHECK (action IN ('raise', 'lower')),
        strokes INTEGER NOT NULL CHECK (strokes > 0),
        PRIMARY KEY (survey, ordinal, action)
    ) STRICT""",
)
# Surveys that nobody wants to see. What they are made of stays: it is never pulled again, and can be shown again.
_REMOVED = ("CREATE TABLE removed (survey INTEGER PRIMARY KEY REFERENCES surveys (number)) STRICT",)
# What is done beside surveys: at the bench, and in checks. Its takes have a sitting and no survey.
_SITTINGS = (
    """CREATE TABLE sittings (
        number INTEGER PRIMARY KEY,
        record INTEGER NOT NULL UNIQUE REFERENCES records (id),
        instrument TEXT NOT NULL,
        name TEXT NOT NULL,
        layout TEXT NOT NULL,
        reeds INTEGER NOT NULL,
        doing INTEGER NOT NULL,
        pass_number INTEGER NOT NULL,
        reference_mhz INTEGER NOT NULL,
        tolerance_cc INTEGER NOT NULL,
        unix_s INTEGER NOT NULL
    ) STRICT""",
    "ALTER TABLE takes ADD COLUMN sitting INTEGER REFERENCES sittings (number)",
    "CREATE INDEX takes_by_sitting ON takes (sitting, sequence)",
    """CREATE TABLE bench_strokes (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        sequence INTEGER NOT NULL,
        sitting INTEGER REFERENCES sittings (number),
        ordinal INTEGER NOT NULL,
        strokes INTEGER NOT NULL,
        unix_s INTEGER NOT NULL
    ) STRICT""",
    """CREATE TABLE checks (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        sitting INTEGER REFERENCES sittings (number),
        heard INTEGER NOT NULL,
        off INTEGER NOT NULL,
        moved INTEGER NOT NULL,
        worst INTEGER NOT NULL,
        worst_ccent INTEGER NOT NULL,
        unix_s INTEGER NOT NULL
    ) STRICT""",
)

# What was kept of takes in which two reeds sounded. `take`: sequence number of the take in the same survey, which they
# go before without a gap; where it is otherwise, the power was cut before that take was written.
_BASEBANDS = (
    """CREATE TABLE basebands (
        record INTEGER PRIMARY KEY REFERENCES records (id),
        sequence INTEGER NOT NULL,
        survey INTEGER REFERENCES surveys (number),
        take INTEGER NOT NULL,
        ordinal INTEGER NOT NULL,
        harmonic INTEGER NOT NULL,
        count INTEGER NOT NULL,
        length INTEGER NOT NULL,
        turn INTEGER NOT NULL,
        rate INTEGER NOT NULL,
        clock_ppb INTEGER NOT NULL,
        points BLOB NOT NULL
    ) STRICT""",
    "CREATE INDEX basebands_by_survey ON basebands (survey, take)",
)

STEPS: tuple[tuple[str, tuple[str, ...]], ...] = (
    ("first tables", _FIRST),
    ("imports", _IMPORTS),
    ("clocks and roles", _CLOCKS),
    ("strokes", _STROKES),
    ("removed surveys", _REMOVED),
    ("sittings", _SITTINGS),
    ("basebands", _BASEBANDS),
)
NEWEST = len(STEPS)


def version(connection: sqlite3.Connection) -> int | None:
    """Steps taken in this file: 0 for an empty one, None for a database that is no ledger."""
    if connection.execute("PRAGMA application_id").fetchone()[0] != APPLICATION_ID:
        tables = connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]
        return None if tables else 0
    number = connection.execute("SELECT max(number) FROM migrations").fetchone()[0]
    return number if isinstance(number, int) else None


def migrate(connection: sqlite3.Connection) -> None:
    """Take all steps that this file still lacks, each in a transaction with its own record."""
    while True:
        connection.execute("BEGIN IMMEDIATE")
        try:
            # Looked up inside the transaction: another program may have taken the step meanwhile.
            done = version(connection)
            if done is None or done >= NEWEST:
                connection.execute("ROLLBACK")
                return
            _take(connection, done)
            connection.execute("COMMIT")
        except BaseException:
            if connection.in_transaction:
                connection.execute("ROLLBACK")
            raise


def _take(connection: sqlite3.Connection, done: int) -> None:
    if done == 0:
        connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
        connection.execute(
            "CREATE TABLE migrations (number INTEGER PRIMARY KEY, name TEXT NOT NULL, unix_s INTEGER NOT NULL) STRICT"
        )
    name, statements = STEPS[done]
    for statement in statements:
        connection.execute(statement)
    connection.execute("INSERT INTO migrations VALUES (?, ?, ?)", (done + 1, name, int(time.time())))
