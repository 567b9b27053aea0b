"""`reedbench desk --watch` in a terminal of its own, for tests: what it draws, and keys for it."""

import fcntl
import os
import pty
import re
import select
import struct
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

from PIL import Image
from reedbench.desk.watch import braille

PATIENCE_S = 60.0
SHOWN = re.compile(r"│([\u2800-\u28ff]{64})│")


class Terminal:
    """`reedbench desk --watch` in a terminal of its own."""

    def __init__(self, *arguments: str, size: tuple[int, int] = (24, 80), **environment: str) -> None:
        self._master, self._slave = pty.openpty()
        self.resize(*size)
        self.before = termios.tcgetattr(self._slave)
        self.said = ""
        self._bytes = b""
        command = [sys.executable, "-m", "reedbench", "desk", "--watch", *arguments]
        self.process = subprocess.Popen(
            command,
            stdin=self._slave,
            stdout=self._slave,
            stderr=subprocess.PIPE,
            env={**os.environ, "LANG": "C.UTF-8", "PYTHONUTF8": "1"} | environment,
            start_new_session=True,
            text=True,
        )

    def resize(self, lines: int, columns: int) -> None:
        fcntl.ioctl(self._slave, termios.TIOCSWINSZ, struct.pack("HHHH", lines, columns, 0, 0))

    def screen(self) -> list[str]:
        """The lines of braille last drawn, after whatever has come until now."""
        while select.select([self._master], [], [], 0.05)[0]:
            self._bytes += os.read(self._master, 1 << 16)
        self.said = self._bytes.decode("utf-8", "ignore")  # which may end inside a character
        return SHOWN.findall(self.said.rpartition("\x1b[H")[2])

    def until(self, wanted: Callable[[], bool]) -> None:
        until = time.monotonic() + PATIENCE_S
        while not wanted():
            assert time.monotonic() < until and self.process.poll() is None, self.said[-2000:]

    def shows(self, folder: Path, number: int) -> list[str]:
        """Waits until it shows the picture of that number in the folder of --screens; returns its lines."""
        picture: list[str] = []

        def there() -> bool:
            nonlocal picture
            with suppress(StopIteration, OSError, SyntaxError):  # not there, or not yet wholly written
                picture = braille(pixels(next(folder.glob(f"{number:04d}-*.png"))))
            return bool(picture) and self.screen() == picture

        self.until(there)
        return picture

    def typed(self, keys: bytes) -> None:
        os.write(self._master, keys)

    def end(self) -> tuple[int, str]:
        """Exit code and what it said on standard error; the terminal must be as it was."""
        assert self.process.stderr
        code = self.process.wait(20)
        err = self.process.stderr.read()
        self.screen()
        assert termios.tcgetattr(self._slave) == self.before
        return code, err

    def close(self) -> None:
        self.process.kill()
        self.process.wait()
        for end in (self._master, self._slave):
            os.close(end)


@contextmanager
def terminal(*arguments: str, **more: Any) -> Iterator[Terminal]:
    one = Terminal(*arguments, **more)
    try:
        yield one
    finally:
        one.close()


def pixels(picture: Path) -> bytes:
    """A picture of the screen as the frame buffer it was."""
    with Image.open(picture) as image:
        lit = image.convert("1")
        return bytes(
            sum(1 << bit for bit in range(8) if lit.getpixel((x, 8 * page + bit)))
            for page in range(8)
            for x in range(128)
        )


def port_of(watched: Terminal) -> str:
    watched.until(lambda: bool(watched.screen()))
    found = re.search(r"on (/dev/[\w/]+)", watched.said)
    assert found
    return found[1]
