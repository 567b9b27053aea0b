"""A board to run the firmware on: real or emulated, whatever REEDBENCH_BOARD names.

REEDBENCH_BOARD is the path of a Python file that offers a class Board:

    Board(files, lacks)   puts `files` (path on the board: bytes) on a board and starts it. `lacks`: "" for a whole
                      board, or "display", "microphone", "left channel" (its microphone is set to the right one);
                      NotImplementedError where there is no such board, and the test is skipped
    port              the serial port that reaches it
    sound(words)      plays microphone words (numpy int32, 24 bits left-justified, 16 kHz) into its microphone,
                      whether that runs or not: what sounds while it is stopped is gone. Tells when the first of
                      them sounds, in seconds by the board's own clock
    rest(seconds)     waits for so long by that clock
    now()             what it shows
    picture(path)     writes what its display shows as a PNG, enlarged or not; may do nothing
    press(*keys)      presses "up", "down", "do", at once, and holds them until
    release(*keys)
    reset()           lets the power go for a moment
    close()           ends it

Without the variable every test here is skipped and says so.
"""

import contextlib
import importlib.util
import os
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from reedbench.image import board_files

Start = Callable[..., Any]


@pytest.fixture(scope="session")
def start() -> Start:
    """Starts a board with these files on it, and without what it `lacks`; whoever does so ends it."""
    path = os.environ.get("REEDBENCH_BOARD")
    if not path:
        pytest.skip("REEDBENCH_BOARD names no board, real or emulated")
    spec = importlib.util.spec_from_file_location("reedbench_board", path)
    assert spec and spec.loader, f"{path} is no Python file"
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)

    def started(files: dict[str, bytes], lacks: str = "") -> Any:
        try:
            board = module.Board(files, lacks)
        except NotImplementedError:
            pytest.skip(f"{path} has no board without {lacks}")
        board.rest(3.0)
        return board

    return started


@pytest.fixture(scope="module")
def board(start: Start) -> Iterator[Any]:
    """A board with the firmware, for all tests of a module."""
    with contextlib.closing(start(board_files())) as running:
        yield running
