"""The meter of cut_meter.py as a process, and the real host's end of a cable to it."""

import json
import os
import select
import subprocess
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from reedbench.ledger import Ledger
from reedbench.link import Link, Meter, greet

HERE = Path(__file__).parent
FIRMWARE = HERE.parents[1] / "firmware"
MICROPYTHON = Path(sys.executable).with_name("micropython")


class Bench:
    """One MicroPython process that lives through many boots. `folder` is for the flash and the log of each."""

    def __init__(self, folder: Path) -> None:
        self.flash = folder / "flash"
        self.log = folder / "log"
        self._process = subprocess.Popen(
            [str(MICROPYTHON), "-X", "heapsize=8m", str(HERE / "cut_meter.py"), str(FIRMWARE)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self._heard = b""

    def close(self) -> None:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()

    def send(self, data: bytes) -> None:
        assert self._process.stdin
        self._process.stdin.write(data)
        self._process.stdin.flush()

    def answered(self, patience_s: float | None = None) -> bytes:
        """What has come back, or comes within the time given; b"" if nothing does."""
        assert self._process.stdout
        if not self._heard and select.select([self._process.stdout], [], [], patience_s)[0]:
            self._heard = os.read(self._process.stdout.fileno(), 1 << 16) or b"the firmware has ended\n"
        heard, self._heard = self._heard, b""
        return heard

    def hear(self, *signs: bytes) -> bytes:
        """The next line that begins with one of `signs`; what else comes must be a line of the link."""
        while True:
            line, feed, rest = self.answered().partition(b"\n")
            while not feed:
                more, feed, rest = self.answered().partition(b"\n")
                line += more
            self._heard = rest
            if line[:1] in signs:
                return line + feed
            assert line[:1] == b"%", f"the firmware said {line!r}, {rest!r}"

    def tell(self, **what: Any) -> dict[str, Any]:
        """Something happens to the meter; what it says when it is through with that."""
        self.send(json.dumps(what).encode() + b"\n")
        said: dict[str, Any] = json.loads(self.hear(b"{"))
        return said

    def boot(self, image: bytes, bad: dict[int, str] | None = None) -> dict[str, Any]:
        """Power on, with `image` as the flash; `bad` as in cut_meter.py."""
        self.flash.write_bytes(image)
        return self.tell(image=str(self.flash), log=str(self.log), bad=bad or {})

    def sound(self, cents: float = 3.0, flags: Sequence[str] = (), again: bool = False) -> dict[str, Any]:
        """The wanted reed sounds, or again the one that sounded last."""
        return self.tell(sound=cents, flags=list(flags), again=again)

    def rest(self, ms: int, *presses: tuple[str, str]) -> dict[str, Any]:
        return self.tell(rest=ms, press=presses)

    def off(self) -> bytes:
        """Power off; what is on the flash then."""
        self.tell(off=0)
        return self.flash.read_bytes()

    @contextmanager
    def conversation(self, ledger: Ledger | None) -> Iterator[Meter]:
        """The host's own link, over a cable that loses nothing."""
        yield greet(Link(Cable(self)), "cut", ledger.identity if ledger else "")  # type: ignore[arg-type]


class Cable:
    """As much of serial.Serial as reedbench.link uses."""

    in_waiting = 0

    def __init__(self, bench: Bench) -> None:
        self._bench = bench

    def write(self, line: bytes) -> None:
        self._bench.send(line)

    def read(self, size: int) -> bytes:
        return self._bench.hear(b"%")
