"""Opening a ledger file, and SQLite's refusals in plain words.

The file is kept in SQLite's WAL mode: who reads is not held up by who writes. A commit is on the disk when it returns
(synchronous=FULL), which is what the meter frees its memory upon, and `Ledger` has it copied from the WAL into the
file itself at once. So the file alone is nearly always the whole ledger, to be copied or carried on a stick; what
lies beside it while it is used (`-wal`, `-shm`) goes when the last program closes it.

WAL needs memory that is shared by all who use the file. On another computer's folder there is none: there the ledger
is kept in rollback mode. Where nothing can be written, a ledger with nothing beside it is read as it lies.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from reedbench.errors import Failed
from reedbench.ledger import schema
from reedbench.ledger.holder import holder
from reedbench.ledger.medium import on_network

WAIT_S = 5.0  # for another program that holds the ledger
BESIDE = ("-journal", "-wal", "-shm")  # what SQLite keeps beside a ledger: never to be played into another one
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
        return f"{holder(path)} is using the ledger {path}: let it end, or close it, and try again"
    if code == sqlite3.SQLITE_FULL:
        return f"the disk that holds the ledger {path} is full"
    if code == sqlite3.SQLITE_IOERR:
        return f"the disk that holds the ledger {path} is full or failing: make room and try again ({error})"
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
        raise _none_yet(path)
    with plain_words(path):
        try:
            return _opened(path, write, f"mode={'rwc' if write else 'rw'}")
        except sqlite3.OperationalError as error:
            if write or not _may_be_unwritable(error) or os.path.exists(f"{path}-wal"):
                raise
            return _opened(path, write, "mode=ro&immutable=1")


def _may_be_unwritable(error: sqlite3.OperationalError) -> bool:
    """Whether a ledger in WAL mode may have failed to open because nothing can be made beside it."""
    return error.sqlite_errorcode & 0xFF in (
        sqlite3.SQLITE_CANTOPEN,
        sqlite3.SQLITE_READONLY,
        sqlite3.SQLITE_IOERR,
        sqlite3.SQLITE_FULL,
    )


def _opened(path: Path, write: bool, how: str) -> sqlite3.Connection:
    uri = f"{path.absolute().as_uri()}?{how}"
    connection = sqlite3.connect(uri, uri=True, timeout=WAIT_S, isolation_level=None)
    try:
        _prepare(connection, path, write)
    except BaseException:
        connection.close()
        raise
    return connection


def _none_yet(path: Path) -> Failed:
    return Failed(f"there is no ledger {path} yet: `reedbench pull` begins one")


def _make_folder(path: Path) -> None:
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"the ledger's folder {path.parent} cannot be made: {error.strerror}") from error


def _prepare(connection: sqlite3.Connection, path: Path, write: bool) -> None:
    connection.execute("PRAGMA foreign_keys = ON")
    connection.execute("PRAGMA trusted_schema = OFF")
    version = schema.version(connection)
    if version is None:
        raise Failed(f"{path} is not a ledger")
    if version == 0 and not write:  # whoever began it was killed before there was anything in it
        raise _none_yet(path)
    if version > schema.NEWEST:
        raise Failed(f"the ledger {path} was written by a newer reedbench: update this one")
    if write:
        _choose_mode(connection, path)
    if version < schema.NEWEST:
        schema.migrate(connection)
    elif write:
        _try_to_write(connection)


def _choose_mode(connection: sqlite3.Connection, path: Path) -> None:
    wanted = "delete" if on_network(path) else "wal"
    if connection.execute("PRAGMA journal_mode").fetchone()[0] != wanted:
        wanted = connection.execute(f"PRAGMA journal_mode = {wanted}").fetchone()[0]
    # In rollback mode only EXTRA has a commit on the disk when it returns.
    connection.execute(f"PRAGMA synchronous = {'FULL' if wanted == 'wal' else 'EXTRA'}")


def _try_to_write(connection: sqlite3.Connection) -> None:
    """Fails now, rather than after the meter has been asked, where the ledger cannot be written."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        connection.execute("CREATE TABLE trial (x INTEGER)")
    finally:
        if connection.in_transaction:  # a failing disk has ended it already
            connection.execute("ROLLBACK")
