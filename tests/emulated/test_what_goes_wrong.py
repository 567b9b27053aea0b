"""A board with a part missing, with all keys down, and with the power going: it says so, and loses nothing it had."""

import contextlib
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
from played import Played, fetch, give, shows, status, ticks
from reedbench.desk.audio import RATE
from reedbench.desk.players import address_of
from reedbench.desk.scenario import demo_scenario
from reedbench.image import board_files
from reedbench.ledger import Ledger
from reedbench.link import converse

KEYS = ("up", "down", "do")
SCENARIO = demo_scenario(1)
REEDS = [SCENARIO.instrument.reeds[ordinal] for ordinal in SCENARIO.instrument.sounding_order()]
TWICE = (1, 2)


@pytest.fixture
def ledger(tmp_path: Path) -> Iterator[Ledger]:
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as opened:
        yield opened


@pytest.mark.timeout(300)
def test_without_a_display_takes_are_made_and_kept(start: Any, ledger: Ledger) -> None:
    player = Played(SCENARIO)
    with contextlib.closing(start(board_files(), "display")) as board:
        give(board, ledger, SCENARIO.instrument)
        for number in TWICE:
            player.before(board, REEDS[0], number)
        assert status(board, ledger)["done"] == 1
        assert fetch(board, ledger).kept.takes == 2


@pytest.mark.timeout(300)
@pytest.mark.parametrize("lacks", ["microphone", "left channel"])
def test_without_a_microphone_in_its_channel_the_screen_says_so(start: Any, ledger: Ledger, lacks: str) -> None:
    player = Played(SCENARIO)
    with contextlib.closing(start(board_files(), lacks)) as board:
        give(board, ledger, SCENARIO.instrument)
        player.before(board, REEDS[0], 1)
        assert shows(board, "en-microphone")
        assert status(board, ledger)["done"] == 0
        assert fetch(board, ledger).kept.takes == 0


@pytest.mark.timeout(300)
def test_all_keys_at_once_harm_nothing(board: Any, ledger: Ledger) -> None:
    """Whatever they ask for together, the meter does not start anew, and hears the next instrument as ever."""
    player = Played(SCENARIO)
    give(board, ledger, SCENARIO.instrument)
    boot = ticks(board, ledger)["boot"]
    for held_s in (0.1, 1.0, 0.05, 3.0):
        board.press(*KEYS)
        board.rest(held_s)
        board.release(*KEYS)
        board.rest(0.3)
        assert ticks(board, ledger)["boot"] == boot
    board.press("up")  # rolled over each other
    for key, other in pairwise(KEYS):
        board.press(other)
        board.rest(0.1)
        board.release(key)
    board.release(KEYS[-1])
    board.rest(1.0)
    assert ticks(board, ledger)["boot"] == boot
    give(board, ledger, SCENARIO.instrument)
    for number in TWICE:
        player.before(board, REEDS[0], number)
    assert status(board, ledger)["done"] == 1
    assert fetch(board, ledger).kept.takes == 2


@pytest.mark.timeout(600)
def test_the_power_goes_in_the_middle_of_a_take(start: Any, ledger: Ledger) -> None:
    """While it sounds, while it is measured, while it is saved: whatever was there before is there after."""
    player = Played(SCENARIO)
    with contextlib.closing(start(board_files())) as board:
        with converse(board.port, ledger.identity) as meter:
            epoch, there = meter.epoch, meter.next_sequence
        give(board, ledger, SCENARIO.instrument)
        lost = 0
        for number, before_the_end_s in enumerate((1.0, 0.2, -0.1, -0.3, -0.4, -0.5, -0.6, -0.8)):
            sounding = player.sounding(address_of(REEDS[0]), number + 1)
            board.sound(sounding.words)
            board.rest(len(sounding.words) / RATE - before_the_end_s)
            board.reset()
            board.rest(4.0)
            with converse(board.port, ledger.identity) as meter:
                assert meter.epoch == epoch, "the memory is another one"
                assert meter.next_sequence >= there, "records that were there are gone"
                lost += meter.next_sequence == there
                there = meter.next_sequence
            pulled = fetch(board, ledger)
            assert pulled.missing == 0
        assert 0 < lost < 8, "the power never went before a take was kept, or always: the times show nothing"
        assert ledger.next_sequence(meter.serial, meter.epoch) == there
