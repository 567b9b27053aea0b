"""The ways back to MicroPython's prompt, whatever a host has sent: Ctrl-C, `leave`, and a key at power-up."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from desk import FIRMWARE, Desk
from reedbench.firmware.wire import frames, messages

PICO_PORT = """
import sys
class Micropython:
    said = []
    def kbd_intr(self, sign):
        self.said.append(sign)
class Time:
    ms = 0
    def ticks_ms(self):
        return self.ms
    def ticks_diff(self, a, b):
        return a - b
class Select:
    POLLIN, POLLOUT = 1, 4
    waiting = b""
    def poll(self):
        return self
    def register(self, stream, events):
        pass
    def ipoll(self, ms):
        return [1] if self.waiting else []
class Stream:
    def __init__(self, select):
        self.buffer = self
        self._select = select
    def readinto(self, byte):
        byte[0], self._select.waiting = self._select.waiting[0], self._select.waiting[1:]
modules = micropython, select, time = Micropython(), Select(), Time()
sys.modules.update({"micropython": micropython, "select": select, "time": time})
from boards.pico import port as board
class System:
    stdin = stdout = Stream(select)
board.sys = System
port = board.Port()
said = []
def turn(ms, data=b""):
    time.ms += ms
    select.waiting = data
    port.read()
    said.append(list(micropython.said))
    micropython.said.clear()
"""


def test_ctrl_c_works_again_once_a_host_has_been_silent(micropython: Callable[..., Any]) -> None:
    """The Pico's own port, with MicroPython's modules played: 3 is Ctrl-C, -1 makes it an ordinary byte."""
    found = micropython(
        PICO_PORT
        + """
for ms, data in values:
    turn(ms, bytes(data))
print(json.dumps(said))
""",
        [
            [0, []], [10, list(b"%0001 noise\n")], [4000, [3, 3, 3]], [4999, [255]],
            [3000, []], [2001, []], [9000, []], [10, [3]], [5001, []],
        ],
    )  # fmt: skip
    assert found == [[], [-1], [], [], [], [3], [], [-1], [3]]


@pytest.mark.parametrize("noise", [b"\x03" * 5000, bytes(range(256)) * 40, b"%" * 3000, b"x" * 20_000 + b"\n"])
def test_leave_works_after_any_noise(micropython_program: str, tmp_path: Path, noise: bytes) -> None:
    with Desk(micropython_program, tmp_path / "flash") as meter:
        meter.port.write(noise)
        meter.port.write(b"\n" + frames.pack(1, messages.ask("leave", {})))
        assert [number for number, _ in meter.lines(5)][-1:] == [1]
        assert meter.process.wait(5) == 0


def test_the_key_works_with_a_flash_that_holds_nothing_sensible(micropython_program: str, tmp_path: Path) -> None:
    flash = tmp_path / "flash"
    flash.write_bytes(bytes(range(256)) * (352 * 16))
    run = FIRMWARE / "boards" / "desk" / "run.py"
    with Desk(micropython_program, flash, run, keys=[[0, "down", "hold"]]) as meter:
        assert meter.process.wait(5) == 0
