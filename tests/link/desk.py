"""A desk meter for the tests of the link: the firmware, a player that plays silence, and a host's port."""

import json
import os
import pty
import socket
import subprocess
import threading
import time
import tty
from pathlib import Path
from types import TracebackType
from typing import Any

import serial
from reedbench.firmware.wire import frames, messages

HERE = Path(__file__).parent
FIRMWARE = HERE.parent.parent / "firmware"


class Desk:
    """Runs `script` on MicroPython with the desk's settings; at the end of the `with` the power goes."""

    def __init__(self, micropython: str, flash: Path, script: Path = HERE / "smallest.py", **settings: Any) -> None:
        master, slave = pty.openpty()
        tty.setraw(slave)
        self.path = os.ttyname(slave)
        ours, theirs = socket.socketpair()
        self.requests: list[dict[str, Any]] = []
        self.process = subprocess.Popen(
            [micropython, "-X", "heapsize=4m", str(script)],
            env={**os.environ, "MICROPYPATH": f"{FIRMWARE}:{HERE}:{HERE.parent / 'meter'}:.frozen"},
            stdin=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            pass_fds=(master, theirs.fileno()),
        )
        told = {
            "flash": str(flash),
            "port_fd": master,
            "player_fd": theirs.fileno(),
            "keys": [],
            "screens": None,
        }
        told |= {"serial": "D1", "unix_s": 0, "takes": 0, "growing": False, "in_take": False} | settings
        assert self.process.stdin
        self.process.stdin.write(json.dumps(told))
        self.process.stdin.close()
        theirs.close()
        self._held = (master, slave)  # so that nothing is lost while nobody else has an end of the pty open
        self._player = ours
        self._thread = threading.Thread(target=self._play, daemon=True)
        self._thread.start()
        self.port = serial.Serial(self.path, timeout=0.02, exclusive=True)
        self._reader = frames.LineReader()
        self._number = 100

    def _play(self) -> None:
        try:
            with self._player.makefile("rb") as lines:
                for line in lines:
                    request = json.loads(line)
                    self.requests.append(request)
                    time.sleep(0.0005)
                    self._player.sendall(bytes(4 * request["need"]))
        except OSError:
            pass

    def cut_power(self) -> int:
        """Closes the player's socket and returns the exit code of the meter."""
        self._player.shutdown(socket.SHUT_RDWR)
        return self.process.wait(10)

    def __enter__(self) -> "Desk":
        return self

    def __exit__(self, kind: type | None, error: BaseException | None, trace: TracebackType | None) -> None:
        code = self.cut_power()
        self._thread.join()
        self._player.close()
        self.port.close()
        for end in self._held:
            os.close(end)
        assert self.process.stderr
        said = self.process.stderr.read()
        self.process.stderr.close()
        if error is None:
            assert (code, said) == (0, "")
        elif said:
            print(said)

    def lines(self, patience_s: float, wanted: int = 1) -> list[tuple[int, str]]:
        """(number, body) of the lines that come until there are `wanted` or the patience ends."""
        found: list[tuple[int, str]] = []
        until = time.monotonic() + patience_s
        while len(found) < wanted and time.monotonic() < until:
            data = self.port.read(self.port.in_waiting or 1)
            found += [frames.unpack(line) for line in self._reader.feed(data)]
        return found

    def ask(self, request: str, /, **values: Any) -> dict[str, Any]:
        """One request under a number of its own, and the values of its answer."""
        self._number += 1
        self.port.write(frames.pack(self._number, messages.ask(request, values)))
        [(number, body)] = self.lines(5)
        assert number == self._number
        return messages.read_answer(request, body)
