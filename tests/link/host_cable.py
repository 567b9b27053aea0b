"""A USB cable that can be pulled and that can spoil lines: a real pty between pyserial and a meter.

The far end is a peer with `send(data)` and `out`, a file descriptor that its answers are read from.
`Firmware` is the real link, journal and shelf on MicroPython; `Script` answers as a test tells it to.
"""

import contextlib
import os
import pty
import select
import subprocess
import sys
import threading
import tty
from pathlib import Path

FIRMWARE = Path(__file__).resolve().parents[2] / "firmware"
MICROPYTHON = Path(sys.executable).with_name("micropython")


def whole(line, count):
    """The fault that is none: `line` is what passes, `count` how many passed before it in this direction."""
    return line


class Cable:
    """`to_meter` and `to_host` turn (line, count) into the bytes that pass instead, or None to unplug."""

    def __init__(self, peer, to_meter=whole, to_host=whole):
        self._peer = peer
        self._master, slave = pty.openpty()
        tty.setraw(slave)
        self.port = os.ttyname(slave)
        self._slave = slave  # held open, so that the pty lives between two programs that use it
        self._faults = {self._master: to_meter, peer.out: to_host}
        self._kept = {self._master: b"", peer.out: b""}
        self._counts = {self._master: 0, peer.out: 0}
        self._stop = threading.Event()
        self._thread = threading.Thread(target=self._pump, daemon=True)
        self._thread.start()

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self._stop.set()
        self._thread.join()

    def _pump(self):
        try:
            while not self._stop.is_set():
                ready, _, _ = select.select(list(self._kept), [], [], 0.02)
                for source in ready:
                    if not self._carry(source):
                        return
        finally:
            os.close(self._slave)
            os.close(self._master)

    def _carry(self, source):
        """Pass on what has come from one end; False when the cable was pulled."""
        data = os.read(source, 65536)
        *lines, self._kept[source] = (self._kept[source] + data).split(b"\n")
        for line in lines:
            passed = self._faults[source](line + b"\n", self._counts[source])
            self._counts[source] += 1
            if passed is None:
                return False
            if source == self._master:
                self._peer.send(passed)
            else:
                self._write(passed)
        return True

    def _write(self, data):
        while data and not self._stop.is_set():
            _, ready, _ = select.select([], [self._master], [], 0.02)
            if ready:
                data = data[os.write(self._master, data[:1024]) :]


class Script:
    """A peer that answers each line with what `answer(line)` returns."""

    def __init__(self, answer):
        self._answer = answer
        self.out, self._in = os.pipe()

    def send(self, data):
        for line in data.splitlines(keepends=True):
            os.write(self._in, self._answer(line))


class Flood:
    """A peer that sends `data` without end, asked or not."""

    def __init__(self, data):
        self.out, self._in = os.pipe()
        self._thread = threading.Thread(target=self._pour, args=(data,), daemon=True)
        self._thread.start()

    def _pour(self, data):
        with contextlib.suppress(OSError):
            while True:
                os.write(self._in, data)

    def send(self, data):
        pass


class Firmware:
    """The meter's own code in a MicroPython process, its journal in `root` and filled with `reeds` reeds."""

    def __init__(self, root, reeds=12):
        self.root = root
        self._process = subprocess.Popen(
            [MICROPYTHON, Path(__file__).with_name("host_meter.py"), FIRMWARE, root, str(reeds)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
        )
        self.out = self._process.stdout.fileno()

    def send(self, data):
        self._process.stdin.write(data)
        self._process.stdin.flush()

    def journal(self):
        """What lies in the journal now, byte for byte."""
        segments = sorted(path for path in (self.root / "journal").iterdir() if len(path.name) == 8)
        return b"".join(path.read_bytes() for path in segments)

    def close(self):
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()
