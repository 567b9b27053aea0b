"""A board to run the firmware on: real or emulated, whatever REEDBENCH_BOARD names.

REEDBENCH_BOARD is the path of a Python file that offers a class Board:

    Board(files)      puts `files` (path on the board: bytes) on a board and starts it
    port              the serial port that reaches it
    sound(words)      plays microphone words (numpy int32, 24 bits left-justified, 16 kHz) into its microphone
    rest(seconds)     waits for so long by the board's own clock
    picture(path)     writes what its display shows as a PNG; may do nothing
    close()           ends it

Without the variable every test here is skipped and says so.
"""

import importlib.util
import os
from collections.abc import Iterator
from typing import Any

import pytest
from reedbench.image import board_files


@pytest.fixture(scope="module")
def board() -> Iterator[Any]:
    path = os.environ.get("REEDBENCH_BOARD")
    if not path:
        pytest.skip("REEDBENCH_BOARD names no board, real or emulated")
    spec = importlib.util.spec_from_file_location("reedbench_board", path)
    assert spec and spec.loader, f"{path} is no Python file"
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    running = module.Board(board_files())
    try:
        running.rest(3.0)
        yield running
    finally:
        running.close()
