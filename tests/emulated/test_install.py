"""`reedbench install` on a board: blank, with an older firmware, with another program; interrupted, taken up again."""

import contextlib
import json
import os
import pty
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from reedbench import __version__
from reedbench.errors import LinkFault
from reedbench.firmware.wire import messages
from reedbench.handover import hand_over, take_back
from reedbench.image import BOOT, SLOTS, boot_file, firmware_files
from reedbench.installing import bring, examine
from reedbench.link import Meter, converse
from reedbench.prompt import Board, at_prompt

OLD = "0.0.9"
Make = Callable[[dict[str, bytes]], Any]


@pytest.fixture
def make_board(start: Make) -> Iterator[Make]:
    """Starts a board with these files on it, for one test."""
    with contextlib.ExitStack() as running:
        yield lambda files: running.enter_context(contextlib.closing(start(files)))


def older() -> dict[str, bytes]:
    """A board with an older firmware, that is: one that says so."""
    files = firmware_files()
    now = files["reedmeter.mpy"]
    files["reedmeter.mpy"] = now.replace(__version__.encode(), OLD.encode())
    assert files["reedmeter.mpy"] != now
    return {BOOT: boot_file(SLOTS[0])} | {f"{SLOTS[0]}/{name}": data for name, data in files.items()}


def install(board: Any, *options: str) -> subprocess.Popen[str]:
    """The command, running."""
    return subprocess.Popen(
        [sys.executable, "-m", "reedbench", "install", "--port", board.port, *options],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )


def installed(board: Any, *options: str) -> dict[str, Any]:
    """What the command says once it has done its work."""
    running = install(board, "--json", *options)
    out, err = running.communicate(timeout=300)
    assert running.returncode == 0, err
    told: dict[str, Any] = json.loads(out)
    return told


def meter_on(board: Any) -> Meter:
    with converse(board.port, "") as meter:
        return meter


def give_it_a_record(board: Any) -> Meter:
    """Has the meter claimed by a ledger, which its memory then knows; the meter as it is then."""
    with converse(board.port, "the shop's") as meter:
        meter.link.request("acknowledge", ledger="the shop's", before_seq=0)
    return meter_on(board)


@pytest.mark.timeout(600)
def test_a_blank_board(make_board: Make) -> None:
    board = make_board({})
    told = installed(board)
    assert (told["was"], told["records"], told["copied"]) == ("blank", 0, told["files"])
    again = installed(board)
    assert (again["was"], again["installed"], again["folder"]) == ("meter", False, told["folder"])
    assert meter_on(board).protocol == messages.PROTOCOL


@pytest.mark.timeout(900)
def test_the_power_goes_between_any_two_steps(make_board: Make) -> None:
    """What happens in the middle of a step, tests/powercut looks at, operation by operation."""
    board = make_board(older())
    before = give_it_a_record(board)
    assert (before.firmware, before.home) == (OLD, "the shop's")
    files = firmware_files()
    folders = 1 + len({path.rpartition("/")[0] for path in files} - {""})
    ran = []
    # What has been copied stays. The last two are before the boot file is replaced, and before the old folder goes.
    for steps in (0, 3, folders + 15, folders + 30, folders + len(files) - 45, folders + 1):
        hand_over(board.port, refuse)
        with pytest.raises(LinkFault, match="the power went"), at_prompt(board.port) as prompt:
            breaking = Breaking(prompt, steps)
            bring(breaking, examine(breaking, files), files, lambda done: None)
        board.reset()
        after = take_back(board.port)
        assert (after.serial, after.epoch, after.home) == (before.serial, before.epoch, "the shop's")
        ran.append(after.firmware)
    assert ran[:5] == [OLD] * 5 and ran[5] != OLD
    told = installed(board)
    assert (told["installed"], told["folder"]) == (False, SLOTS[1])
    hand_over(board.port, refuse)
    with at_prompt(board.port) as prompt:
        assert SLOTS[0] not in prompt.names()


class Breaking(Board):
    """A board whose power goes before it is told the next thing, after so many steps that change it."""

    def __init__(self, board: Board, steps: int) -> None:
        super().__init__(board._transport)
        self._left = steps

    def _step(self) -> None:
        if not self._left:
            raise LinkFault("the power went")
        self._left -= 1

    def folder(self, path: str) -> None:
        self._step()
        super().folder(path)

    def write(self, path: str, data: bytes) -> None:
        self._step()
        super().write(path, data)

    def clear(self, folder: str) -> None:
        self._step()
        super().clear(folder)


def stopped_while_copying(board: Any, how: signal.Signals) -> int:
    """Exit code of the command, which gets the signal when its progress says that ten files have been copied."""
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "reedbench", "install", "--port", board.port]
    running = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=theirs)
    os.close(theirs)
    shown = b""
    while b"copying file 10 of" not in shown:
        shown += os.read(ours, 1024)
    running.send_signal(how)
    code = running.wait(30)
    os.close(ours)
    return code


def refuse(question: str) -> None:
    raise AssertionError(question)


@pytest.mark.timeout(600)
@pytest.mark.parametrize("how", [signal.SIGINT, signal.SIGKILL], ids=["Ctrl-C", "kill -9"])
def test_the_program_is_stopped(make_board: Make, how: signal.Signals) -> None:
    board = make_board(older())
    before = give_it_a_record(board)
    code = stopped_while_copying(board, how)
    if how is signal.SIGINT:
        assert code == 130
        assert take_back(board.port).firmware == OLD, "it was not started again"
    told = installed(board, "--yes")  # killed, it has left the board in the middle of a word: that may be anything
    assert 0 < told["copied"] < told["files"]
    after = meter_on(board)
    assert (after.firmware, after.epoch, after.home) == (told["firmware"], before.epoch, before.home) != (OLD,)


@pytest.mark.timeout(600)
def test_a_board_with_another_program_is_asked_about(make_board: Make) -> None:
    other = b"import time\nwhile True:\n    print('21.5 degrees')\n    time.sleep(1)\n"
    board = make_board({"main.py": other, "lib/sensor.py": b"x = 1\n"})
    running = install(board)
    _, err = running.communicate(timeout=120)
    assert running.returncode == 2 and "does not answer as a meter" in err
    told = installed(board, "--yes")
    assert told["was"] == "other" and meter_on(board).board == "pico"
    hand_over(board.port, refuse)
    with at_prompt(board.port) as prompt:
        assert prompt.read("lib/sensor.py") == b"x = 1\n"
