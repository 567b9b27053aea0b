"""Opening a ledger file, and SQLite's refusals in plain words.

The file is kept in SQLite's rollback mode with synchronous=EXTRA, not in WAL mode: a ledger at rest is then
always one file that can be copied, carried on a stick, kept on a server's share or read where nothing may be
written, and a commit is on the disk when it returns, which is what the meter frees its memory upon.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from reedbench.errors import Failed
from reedbench.ledger import schema

WAIT_S = 5.0  # for another program that holds the ledger
OLDEST_SQLITE = (3, 37, 0)  # the first with STRICT tables


@contextmanager
def plain_words(path: Path) -> Iterator[None]:
    """Turns what SQLite raises inside the block into a Failed that a person can act on."""
    try:
        yield
    except sqlite3.Error as error:
        raise Failed(_why(path, error)) from error


def _why(path: Path, error: sqlite3.Error) -> str:
    code = getattr(error, "sqlite_errorcode", 0) & 0xFF  # the rest tells variants apart
    if code == sqlite3.SQLITE_NOTADB:
        return f"{path} is not a ledger"
    if code == sqlite3.SQLITE_CORRUPT:
        return f"the ledger {path} is damaged: restore it from a copy"
    if code in (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN, sqlite3.SQLITE_PERM):
        return f"the ledger {path} cannot be written: allow writing to the file and its folder, or name another"
    if code in (sqlite3.SQLITE_BUSY, sqlite3.SQLITE_LOCKED):
        return f"another program is using the ledger {path}: close it and try again"
    if code == sqlite3.SQLITE_FULL:
        return f"the disk that holds the ledger {path} is full"
    return f"the ledger {path} could not be used: {error}"


def connect(path: Path, write: bool) -> sqlite3.Connection:
    """A connection to the ledger at `path`, migrated to the present schema; with `write`, begun if absent."""
    if sqlite3.sqlite_version_info < OLDEST_SQLITE:
        raise Failed(f"this Python brings SQLite {sqlite3.sqlite_version}; the ledger needs 3.37 or newer")
    if os.path.isdir(path):
        raise Failed(f"{path} is a folder: name a file for the ledger")
    if write:
        _make_folder(path)
    elif not os.path.exists(path):
        raise Failed(f"there is no ledger {path} yet: `reedbench pull` begins one")
    with plain_words(path):
        mode = "rwc" if write else "rw"
        connection = sqlite3.connect(
            f"{path.absolute().as_uri()}?mode={mode}", uri=True, timeout=WAIT_S, isolation_level=None
        )
        try:
            _prepare(connection, path, write)
        except BaseException:
            connection.close()
            raise
    return connection


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"the ledger's folder {path.parent} cannot be made: {error.strerror}") from error


def _prepare(connection: sqlite3.Connection, path: Path, write: bool) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA synchronous = EXTRA")
    connection.execute("PRAGMA trusted_schema = OFF")
    version = schema.version(connection)
    if version is None or (version == 0 and not write):
        raise Failed(f"{path} is not a ledger")
    if version > schema.NEWEST:
        raise Failed(f"the ledger {path} was written by a newer reedbench: update this one")
    if version < schema.NEWEST:
        schema.migrate(connection)
    elif write:
        _try_to_write(connection)


def _try_to_write(connection: sqlite3.Connection) -> None:
    """Fails now, rather than after the meter has been asked, where the ledger cannot be written."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("CREATE TABLE trial (x INTEGER)")
    finally:
        if connection.in_transaction:  # a failing disk has ended it already
            connection.execute("ROLLBACK")
