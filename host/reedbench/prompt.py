"""A board at MicroPython's prompt: what is done to its files, by MicroPython's own mpremote.

Everything that can go wrong on the way comes out as LinkFault: nothing here knows what a meter is.
"""

import ast
import contextlib
import errno
import hashlib
import io
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from mpremote.transport import Transport, TransportError, TransportExecError
from mpremote.transport_serial import SerialTransport

from reedbench.errors import Failed, LinkFault

PATIENCE_S = 10.0  # for a board that stops in the middle of an answer
# Whatever the board is in the middle of: Ctrl-C ends a program or a transfer, Ctrl-B leaves the prompt for programs,
# Ctrl-D starts the board's own program anew.
RESTART = b"\r\x03\x03\x02\x04"
_WHOLE = "what it starts is whole, be it the old or the new"
_BROKE_OFF = f"the board broke off; {_WHOLE}: plug it in again and repeat `reedbench install`"

# Prints the path within `folder`, and the SHA-256, of every file in it.
_HASHES = """
import hashlib, os
def look(folder, within):
    for name, kind, *_ in os.ilistdir(folder):
        if kind == 0x4000:
            look(folder + "/" + name, within + name + "/")
            continue
        check = hashlib.sha256()
        with open(folder + "/" + name, "rb") as file:
            while True:
                piece = file.read(512)
                if not piece:
                    break
                check.update(piece)
        print(repr((within + name, check.digest())))
look("/%s", "")
"""

_CLEAR = """
import os
def clear(folder):
    for name, kind, *_ in os.ilistdir(folder):
        if kind == 0x4000:
            clear(folder + "/" + name)
        else:
            os.remove(folder + "/" + name)
    os.rmdir(folder)
clear("/%s")
"""


class Full(Failed):
    """What is to be written does not fit onto the board."""


class Board:
    """The files of one board. Paths are from its root, without a slash in front."""

    def __init__(self, transport: Transport) -> None:
        self._transport = transport

    def value(self, expression: str) -> Any:
        """What `expression` is worth on the board, if it is made of plain values."""
        with _faults():
            return self._transport.eval(expression)

    def run(self, script: str) -> list[Any]:
        """The plain values that `script` prints, one a line."""
        with _faults():
            return [ast.literal_eval(line.decode()) for line in self._transport.exec(script).splitlines()]

    def hashes(self, folder: str) -> dict[str, bytes]:
        """SHA-256 of every file in `folder`, by its path in there; nothing where there is no such folder."""
        return dict(self.run(_HASHES % folder)) if folder in self.names() else {}

    def names(self) -> list[str]:
        """What is in the root."""
        names: list[str] = self.value("__import__('os').listdir('/')")
        return names

    def read(self, path: str) -> bytes:
        """All of the file `path`."""
        with _faults():
            return bytes(self._transport.fs_readfile(f"/{path}"))

    def write(self, path: str, data: bytes) -> None:
        """Makes `data` the file `path`, which is whole or not there at all; its folder must be there."""
        with _faults():
            self._transport.fs_writefile(f"/{path}", data)

    def replace(self, path: str, data: bytes) -> None:
        """Makes `data` the file `path` in one step: before it the old one is there, after it the new one.

        littlefs promises that of a rename, whenever the power goes (its DESIGN.md, "Moving files").
        """
        draft = f"{path}.new"
        self.write(draft, data)
        if self.read(draft) != data:
            raise worn(draft)
        with _faults():
            self._transport.exec(f"import os\nos.rename('/{draft}', '/{path}')")

    def folder(self, path: str) -> None:
        """Makes the folder `path` unless it is there."""
        with _faults(), contextlib.suppress(FileExistsError):
            self._transport.fs_mkdir(f"/{path}")

    def clear(self, folder: str) -> None:
        """Removes `folder` with all that is in it; nothing where there is none."""
        if folder in self.names():
            self.run(_CLEAR % folder)


def worn(path: str) -> Failed:
    """What to say of a file that reads otherwise than it was written."""
    return Failed(
        f"{path} reads otherwise than it was written: try again, and if it stays so the board's flash is worn out; "
        "what ran before still runs"
    )


def sha256(data: bytes) -> bytes:
    """As `hashes` gives it."""
    return hashlib.sha256(data).digest()


@contextmanager
def at_prompt(port: str) -> Iterator[Board]:
    """Stops what runs on the board and gives its files; whatever happens, the board is started anew at the end."""
    with _faults():
        transport = SerialTransport(port, timeout=PATIENCE_S)
    try:
        with _faults():
            transport.enter_raw_repl()
        yield Board(transport)
    finally:
        with contextlib.suppress(OSError):
            transport.serial.write(RESTART)
            transport.serial.flush()
        with contextlib.suppress(OSError):
            transport.close()


@contextmanager
def _faults() -> Iterator[None]:
    """Puts into our words what mpremote raises, and keeps back what it prints."""
    try:
        with contextlib.redirect_stdout(io.StringIO()):
            yield
    except TransportExecError as error:
        last = "".join(error.error_output.strip().splitlines()[-1:])[:120]
        raise LinkFault(f"the board did not do as it was told ({last}); {_WHOLE}") from error
    except OSError as error:
        if error.errno == errno.ENOSPC:
            raise Full(
                f"the board has no room for a second firmware: pull its takes, then try again; {_WHOLE}"
            ) from error
        raise LinkFault(_BROKE_OFF) from error
    except (TransportError, struct.error, ValueError, SyntaxError) as error:
        raise LinkFault(_BROKE_OFF) from error
