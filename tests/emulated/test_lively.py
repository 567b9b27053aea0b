"""At the bench on a board: the figure on the screen follows the reed, and drawing it loses no sample of the tone."""

from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from played import fetch, give, pictured
from reedbench.desk.audio import RATE, to_words
from reedbench.desk.scenario import demo_scenario
from reedbench.ledger import Ledger

SECONDS = 2.0
FALLS_CENTS_S = 8.0  # so that each new figure is another: it is shown to a tenth
LOOKED_S = (0.2, 0.8)  # after onset: figures run; then the take is measured, and its figure stands
LEAST = 8  # figures a second
STEP_S = 0.03


def falling(hz: float) -> np.ndarray:
    """A reed whose pitch falls evenly as its metal would be filed, from half the whole fall above `hz`."""
    t = np.arange(int(SECONDS * RATE)) / RATE
    cents = FALLS_CENTS_S * (SECONDS / 2 - t)
    phase = 2 * np.pi * np.cumsum(hz * 2 ** (cents / 1200)) / RATE
    sound = 0.06 * sum(np.sin(n * phase) / n for n in (1, 2, 3, 4))
    return sound * (1 - np.exp(-t / 0.015)) * np.minimum(1, (SECONDS - t) / 0.01)


def tap(board: Any, key: str, held_s: float = 0.08) -> None:
    board.press(key)
    board.rest(held_s)
    board.release(key)
    board.rest(0.5)


def figures_a_second(board: Any, hz: float) -> float:
    """How often the screen is new from the first figure of a sounding to the last before its take."""
    quiet = 1e-4 * np.random.default_rng(1).standard_normal(RATE)
    board.sound(to_words(np.concatenate([quiet, falling(hz), quiet])))
    board.rest(1.0 + LOOKED_S[0])
    seen = []
    for _ in range(round((LOOKED_S[1] - LOOKED_S[0]) / STEP_S)):
        path = pictured(board, "lively")
        if path is None:
            pytest.skip("what this board's display shows cannot be seen")
        seen.append(path.read_bytes())
        board.rest(STEP_S)
    board.rest(SECONDS + 2.0)
    new = [place for place, (one, another) in enumerate(pairwise(seen)) if one != another]
    return (len(new) - 1) / (STEP_S * (new[-1] - new[0]))


@pytest.mark.timeout(600)
def test_the_figure_is_new_eight_times_a_second(board: Any, tmp_path: Path) -> None:
    """At the bench; in a survey as well, whose take would say if a sample had been lost."""
    instrument = demo_scenario(1).instrument
    reed = instrument.reeds[instrument.sounding_order()[0]]
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        give(board, ledger, instrument)
        in_a_survey = figures_a_second(board, reed.target_hz)
        kept = fetch(board, ledger).kept
        flags = [take.flags for take in ledger.takes(kept.surveys[-1])]
        tap(board, "do", 1.2)  # to what is to be done
        tap(board, "down")
        tap(board, "do")
        board.rest(2.0)  # loading
        at_the_bench = figures_a_second(board, reed.target_hz)
        assert fetch(board, ledger).kept.takes == 1, "one sounding, unbroken, is one take"
    print(f"{in_a_survey:.1f} and {at_the_bench:.1f} new figures a second")
    assert len(flags) == 1 and "gap" not in flags[0], "samples were lost"
    assert min(in_a_survey, at_the_bench) >= LEAST
