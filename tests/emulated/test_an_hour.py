"""An hour of work on a board: surveys one after the other, each pulled; the memory that is free stays what it was."""

import itertools
import time
from pathlib import Path
from typing import Any

import pytest
from played import Played, fetch, give, status, ticks
from reedbench.desk.scenario import demo_scenario
from reedbench.ledger import Ledger

SECONDS = 3600
EVERY = 8  # reeds, from one look at the memory to the next
CREEP = 512  # bytes: what a pull or a screen leaves is not the same each time


@pytest.mark.timeout(6 * 3600)
def test_no_memory_is_lost_in_an_hour(board: Any, tmp_path: Path) -> None:
    scenario = demo_scenario(1)
    reeds = [scenario.instrument.reeds[ordinal] for ordinal in scenario.instrument.sounding_order()]
    player = Played(scenario)
    free: list[int] = []
    made = 0
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        begun = ticks(board, ledger)
        while ticks(board, ledger)["up_s"] - begun["up_s"] < SECONDS:
            give(board, ledger, scenario.instrument)
            looks = []
            for place, reed in enumerate(reeds, start=1):
                for number in itertools.count(1):
                    player.before(board, reed, number)
                    told = status(board, ledger)
                    if told["done"] >= place:
                        break
                    assert number < 6, f"{reed.label} was sounded six times"
                if place % EVERY == 0:
                    looks.append(told["heap_free"])
                    print(f"{time.strftime('%H:%M')}: {ticks(board, ledger)['up_s']} s, free {looks[-1]}", flush=True)
            free.append(min(looks))
            made += fetch(board, ledger).kept.takes
            print(f"{made} takes pulled, free at least, survey by survey: {free}", flush=True)
        assert ticks(board, ledger)["boot"] == begun["boot"], "it has started anew"
    assert min(free[1:]) > free[0] - CREEP, f"bytes free at least, survey by survey: {free}"
