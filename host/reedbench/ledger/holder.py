"""Who holds the ledger: a note beside it, for as long as a program writes, so that another can say whom it waits for.

SQLite's own lock keeps the ledger safe; the note is only for people, and nothing depends on its being there or true.
"""

import os
import socket
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from reedbench.output import clean

_LONGEST = 200


def _note(path: Path) -> Path:
    return Path(f"{path}-held")


@contextmanager
def held(path: Path) -> Iterator[None]:
    """Leaves a note beside the ledger while the block writes to it."""
    command = next((word for word in sys.argv[1:] if not word.startswith("-")), "")
    with suppress(OSError):
        _note(path).write_text(f"{os.getpid()} {socket.gethostname()} reedbench {command}".strip(), encoding="utf-8")
    try:
        yield
    finally:
        with suppress(OSError):
            _note(path).unlink()


def holder(path: Path) -> str:
    """Who holds the ledger: "reedbench pull (process 4711)", or "another program" where no note can be believed."""
    try:
        text = _note(path).read_bytes()[:_LONGEST].decode("utf-8")
        number, host, program = clean(text).split(" ", 2)
        process = int(number)
    except (OSError, ValueError):
        return "another program"
    if host != socket.gethostname():
        return f"{program} on {host} (process {process})"
    return f"{program} (process {process})" if _runs(process) else "another program"


def _runs(process: int) -> bool:
    """Whether there is such a process here. On Windows nobody is asked: a signal would end it."""
    if process <= 0 or sys.platform == "win32":
        return process > 0
    try:
        os.kill(process, 0)
    except PermissionError:  # there is one, of somebody else's
        return True
    except (OSError, OverflowError):
        return False
    return True
