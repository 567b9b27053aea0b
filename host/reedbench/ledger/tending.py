"""Looking after a ledger file: is it sound, a copy of it, and a copy back in its place."""

import os
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from dataclasses import dataclass
from pathlib import Path

from reedbench.errors import BadInput, Failed
from reedbench.files import refuse_other_than_file
from reedbench.firmware.wire import record
from reedbench.ledger import schema
from reedbench.ledger.opening import BESIDE, connect, plain_words

FAULTS_SHOWN = 5


@dataclass(frozen=True)
class Health:
    """What a ledger holds, and what is wrong with it, a line each; nothing where it is sound."""

    surveys: int
    takes: int
    records: int
    instruments: int
    faults: tuple[str, ...]


def check(path: Path) -> Health:
    """Look through the whole ledger at `path`: SQLite's own checks, and the check sum of every record."""
    with closing(connect(path, write=False)) as connection, plain_words(path):
        faults = [str(row[0]) for row in connection.execute("PRAGMA integrity_check") if row[0] != "ok"]
        if not faults:
            faults = [
                f"a row of {table} belongs to a row that is missing in {other}"
                for table, _, other, _ in connection.execute("PRAGMA foreign_key_check")
            ]
            sent = connection.execute("SELECT id, raw FROM records WHERE kind <> ?", (schema.IMPORTED,))
            faults += [f"record {row} is damaged" for row, raw in sent if record.measure(raw) != len(raw)]
        surveys, takes, records, instruments = (
            int(connection.execute(f"SELECT count(*) FROM {table}").fetchone()[0])
            for table in ("surveys", "takes", "records", "instruments")
        )
    return Health(surveys, takes, records, instruments, tuple(faults))


def back_up(path: Path, copy: Path, replace: bool) -> int:
    """Copy the ledger, even while others use it, whole or not at all; returns the bytes of the copy."""
    if os.path.lexists(copy) and not replace:
        raise BadInput(f"{copy} is there already: choose another name, or --force to replace it")
    if os.path.exists(copy) and os.path.exists(path) and os.path.samefile(path, copy):
        raise BadInput(f"{copy} is the ledger itself: choose another name")
    refuse_other_than_file(copy)
    with closing(connect(path, write=False)) as ledger:
        draft = _copied(path, ledger, copy)
    with _writing(copy):
        for tail in BESIDE:
            Path(f"{copy}{tail}").unlink(missing_ok=True)
        os.replace(draft, copy)
        return copy.stat().st_size


def restore(path: Path, copy: Path, replace: bool) -> Path | None:
    """Put `copy` in the place of the ledger; the old one is kept beside it, under the name returned."""
    health = check(copy)
    if health.faults:
        raise Failed(f"{copy} is damaged ({health.faults[0]}): nothing was restored")
    if os.path.exists(path) and os.path.samefile(path, copy):
        raise BadInput(f"{copy} is the ledger itself: name a copy of it")
    refuse_other_than_file(path)
    if os.path.exists(path) and not replace:
        raise BadInput(f"there is a ledger {path} already: --force puts it aside")
    with _writing(path):
        path.parent.mkdir(parents=True, exist_ok=True)
    with closing(connect(copy, write=False)) as source:
        draft = _copied(copy, source, path)
    with _writing(path):
        aside = _put_aside(path) if os.path.exists(path) else None
        os.replace(draft, path)
    return aside


def _copied(path: Path, ledger: sqlite3.Connection, beside: Path) -> Path:
    """A whole copy of the ledger in a new file in the folder of `beside`."""
    with _writing(beside):
        number, name = tempfile.mkstemp(dir=beside.parent, prefix=".reedbench-")
        os.close(number)
    draft = Path(name)
    try:
        with plain_words(path), closing(sqlite3.connect(draft)) as target:
            ledger.backup(target)
        return draft
    except BaseException:
        with suppress(OSError):
            draft.unlink()
        raise


def _put_aside(path: Path) -> Path:
    """Rename the ledger, and first what lies beside it, which must not be played into another one."""
    aside = path.with_name(time.strftime(f"{path.stem}-%Y%m%d-%H%M%S{path.suffix}"))
    if os.path.lexists(aside):
        raise Failed(f"{aside} is there already: try again in a second")
    for tail in (*BESIDE, ""):
        with suppress(FileNotFoundError):
            os.rename(f"{path}{tail}", f"{aside}{tail}")
    return aside


@contextmanager
def _writing(path: Path) -> Iterator[None]:
    """Turns what the disk refuses inside the block into a Failed."""
    try:
        yield
    except OSError as error:
        raise Failed(f"{path} cannot be written: {error.strerror}") from error
