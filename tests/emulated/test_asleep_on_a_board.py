"""The meter falls asleep on a board, hears nothing, keeps the time, and is woken by a key or by the host."""

import contextlib
from pathlib import Path
from typing import Any

import pytest
from PIL import Image
from played import Played, fetch, give, pictured, status, ticks
from reedbench.desk.scenario import demo_scenario
from reedbench.firmware.wire.messages import COUNTER_US
from reedbench.image import board_files
from reedbench.ledger import Ledger

SOON = {"settings": b"sleep_min=1\n"}  # one minute cannot be chosen on the meter, but is read
AWAKE_S, ASLEEP_S = 55.0, 15.0


def lit(board: Any, name: str) -> bool | None:
    """Whether the display shows anything; None where it cannot be seen."""
    path = pictured(board, name)
    if path is None:
        return None
    with Image.open(path) as seen:
        return seen.convert("1").getbbox() is not None


@pytest.mark.timeout(900)
def test_it_sleeps_and_is_woken_and_the_survey_goes_on(start: Any, tmp_path: Path) -> None:
    scenario = demo_scenario(1)
    instrument = scenario.instrument
    reed = instrument.reeds[instrument.sounding_order()[0]]
    player = Played(scenario)
    files = board_files() | SOON
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger, contextlib.closing(start(files)) as board:
        give(board, ledger, instrument)
        player.before(board, reed, 1)
        before = ticks(board, ledger)
        board.rest(AWAKE_S)
        assert lit(board, "not-yet") is not False, "not before its time"
        board.rest(ASLEEP_S)
        assert lit(board, "asleep") is not True
        player.before(board, reed, 2)  # nobody hears it
        board.press("do")
        board.rest(0.1)
        board.release("do")
        board.rest(1.0)
        assert lit(board, "woken") is not False
        player.before(board, reed, 2)
        assert status(board, ledger)["done"] == 1, "the take from before it slept and the one after it agree"
        after = ticks(board, ledger)
        assert fetch(board, ledger).kept.takes == 2
        assert after["boot"] == before["boot"]
        seconds = after["up_s"] - before["up_s"]
        us = (after["us"] - before["us"]) % COUNTER_US
        assert seconds > AWAKE_S + ASLEEP_S and abs(us - 1_000_000 * seconds) < 1_000_000
        board.rest(AWAKE_S + ASLEEP_S)
        assert lit(board, "asleep-again") is not True, "it falls asleep once more"
        assert status(board, ledger)["done"] == 1, "and the host wakes it by asking"
        assert lit(board, "asked") is not False
