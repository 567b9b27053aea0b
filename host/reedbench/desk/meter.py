"""Runs the firmware on MicroPython's Unix port: a pty for its USB, a player at its microphone, a file for its flash."""

import json
import os
import shutil
import socket
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Sequence
from contextlib import suppress
from pathlib import Path
from types import TracebackType
from typing import Any, Self

from reedbench import firmware_path
from reedbench.desk.audio import RATE
from reedbench.desk.players import Player, Request
from reedbench.errors import Failed

HEAP = "8m"  # of the Unix port; its words are twice a board's
FLASH_BYTES = 352 * 4096  # as boards/desk/flash.py makes it
KEYS = ("up", "down", "do")
FAULTS = ("no-microphone", "dropped-blocks", "no-display", "flash-full")  # as boards/desk/run.py knows them


def micropython() -> str:
    """Path of the `micropython` command; Failed where this system has none."""
    beside = Path(sys.executable).with_name("micropython")
    found = str(beside) if beside.exists() else shutil.which("micropython")
    if not found:
        raise Failed(
            "the desk meter needs MicroPython's Unix port, and no package of it is installed here (there are ones for "
            "Linux on x86-64 and macOS on Apple silicon); every command that works with a real meter works without it"
        )
    return found


class DeskMeter:
    """A running desk meter. Use it in a `with` statement; `port` is the tty that other programs open.

    fast: let time pass as quickly as the machine can; else at its own pace. keys: [(ms, key, press)].
    screens: folder for a picture of every screen shown. flash: file that keeps the meter's memory. faults: what is
    wrong with it, some of FAULTS. watched: `pixels` is what its screen shows, 1,024 bytes of eight pixels of a column
    each, the lowest bit on top; None before the first picture. crystal_ppm: how much faster than this computer's
    clock its crystal runs, parts per million; only at its own pace.
    """

    pixels: bytes | None = None

    def __init__(
        self,
        player: Player,
        *,
        fast: bool = True,
        flash: Path | None = None,
        screens: Path | None = None,
        keys: Sequence[tuple[int, str, str]] = (),
        serial: str = "desk-0001",
        faults: Sequence[str] = (),
        watched: bool = False,
        crystal_ppm: float = 0.0,
    ) -> None:
        self.player = player
        self.player.rate = RATE * (1 + crystal_ppm * 1e-6)
        self._fast = fast
        self._folder = tempfile.TemporaryDirectory(prefix="reedbench-desk-")
        self._settings: dict[str, Any] = {
            "flash": str(flash or Path(self._folder.name) / "flash.img"),
            "keys": [list(key) for key in keys],
            "screens": str(screens) if screens else None,
            "serial": serial,
            "unix_s": 0,
            "faults": list(faults),
            "watched": watched,
            "crystal_ppb": None if fast else round(crystal_ppm * 1e3),
        }
        self._stopping = False
        self.fault = ""

    def __enter__(self) -> Self:
        if sys.platform == "win32":
            raise Failed("the desk meter needs ptys, which Windows does not have; a real meter works there")
        import tty

        command = micropython()
        master, self._slave = os.openpty()
        tty.setraw(self._slave)
        self.port = os.ttyname(self._slave)
        ours, theirs = socket.socketpair()
        keys, self._keys = os.pipe()
        settings = {**self._settings, "port_fd": master, "player_fd": theirs.fileno(), "keys_fd": keys}
        run = firmware_path() / "boards" / "desk" / "run.py"
        self._log = tempfile.TemporaryFile()
        self._process = subprocess.Popen(
            [command, "-X", f"heapsize={HEAP}", str(run)],
            pass_fds=(master, theirs.fileno(), keys),
            stdin=subprocess.PIPE,
            stdout=self._log,
            stderr=subprocess.STDOUT,
        )
        assert self._process.stdin is not None
        self._process.stdin.write(json.dumps(settings).encode())
        self._process.stdin.close()
        os.close(master)
        os.close(keys)
        theirs.close()
        self._socket = ours
        self._thread = threading.Thread(target=self._serve, daemon=True)
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Cuts the power."""
        self._stopping = True
        self._socket.shutdown(socket.SHUT_RDWR)
        try:
            self._process.wait(5)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        self._thread.join(5)
        self.player.close()
        self._socket.close()
        os.close(self._keys)
        os.close(self._slave)
        self._log.close()
        self._folder.cleanup()

    @property
    def running(self) -> bool:
        return self._process.poll() is None

    def printed(self) -> str:
        """What the firmware printed, a traceback for instance."""
        self._log.seek(0)
        return self._log.read().decode("utf-8", "replace").strip()

    def press(self, key: str, press: str) -> None:
        """Presses "up", "down" or "do"; `press` is "tap" or "hold"."""
        with suppress(BrokenPipeError):  # it is just going off
            os.write(self._keys, f"{key} {press}\n".encode())

    def wait(self) -> None:
        """Until the firmware ends by itself."""
        self._process.wait()

    def _serve(self) -> None:
        """Hands samples over until the meter or the player is gone."""
        began = time.monotonic()
        try:
            with self._socket.makefile("rb") as requests:
                for line in requests:
                    wanted = Request.read(line)
                    self.pixels = wanted.pixels or self.pixels
                    part = self.player.samples(wanted.need, wanted.count, wanted.lost_ms, wanted.words)
                    if not self._fast:
                        time.sleep(max(0.0, began + wanted.count / self.player.rate - time.monotonic()))
                    elif self.player.resting:
                        # Nobody plays: let the link have the machine, and time pass no faster than it does.
                        time.sleep(wanted.need / RATE / 4)
                    self._socket.sendall(part.astype("<i4").tobytes())
        except OSError:
            pass
        except Exception as error:
            self.fault = str(error)
            self._socket.shutdown(socket.SHUT_RDWR)
            if not self._stopping:
                raise
