"""How soon a board shows what it hears, and how soon it has kept it.

Where drawing loses samples the tone is begun anew, so that both come later.
"""

import math
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from played import fetch, give, pictured
from reedbench import layouts
from reedbench.desk.audio import RATE, to_words
from reedbench.instrument import Instrument, TuningOrder
from reedbench.ledger import Ledger

SETTLES_PERIODS = 12  # a reed starts flat
FALLS_CENTS_S = 8.0  # so that each new figure is another: it is shown to a tenth
QUIET_S = 0.5
STEP_S = 0.015
DRAWN_S = 0.06  # a screen that is new again so soon was seen half drawn
LEAST = 8  # figures a second at the bench
FIRST_S = 0.25  # after onset a figure is on the screen
SAVED_S = {"richter-10": 1.4, "harmonium-39": 2.5}  # after onset a take is saved: first reed at 262 and 65 Hz


def reed(hz: float, seconds: float, flat_cents: float = 0.0, falls_from_s: float = math.inf) -> np.ndarray:
    """A tone of many harmonics that sets in flat, or falls evenly from then on as if metal came off."""
    t = np.arange(int(seconds * RATE)) / RATE
    cents = -FALLS_CENTS_S * np.maximum(0, t - falls_from_s) - flat_cents * np.exp(-t * hz / SETTLES_PERIODS)
    phase = 2 * np.pi * np.cumsum(hz * 2 ** (cents / 1200)) / RATE
    sound = 0.06 * sum(np.sin(n * phase) / n for n in range(1, 19) if n * hz < 7000)
    return sound * (1 - np.exp(-t / 0.015)) * np.minimum(1, (seconds - t) / 0.01)


def screens(board: Any, sound: np.ndarray, seconds: float) -> list[float]:
    """When, in seconds after `sound` sets in, the screen was another, and whole, until so many seconds after."""
    quiet = 1e-4 * np.random.default_rng(1).standard_normal(int(QUIET_S * RATE))
    onset_s = board.sound(to_words(np.concatenate([quiet, sound, quiet, quiet]))) + QUIET_S
    seen: list[tuple[float, bytes]] = []
    while board.now() < onset_s + seconds:
        path = pictured(board, "lively")
        if path is None:
            pytest.skip("what this board's display shows cannot be seen")
        seen.append((board.now() - onset_s, path.read_bytes()))
        board.rest(STEP_S)
    board.rest(len(sound) / RATE - seconds + 3.0)
    new_s = [when for (_, one), (when, another) in pairwise(seen) if one != another]
    return [when for when, following in pairwise([*new_s, math.inf]) if following - when > DRAWN_S]


def lowest(layout: str) -> Instrument:
    return Instrument("00112233445566ab", "soon", layouts.load(layout), key="C", order=TuningOrder(440.0))


def tap(board: Any, key: str, held_s: float = 0.08) -> None:
    board.press(key)
    board.rest(held_s)
    board.release(key)
    board.rest(0.5)


@pytest.mark.timeout(600)
@pytest.mark.parametrize("layout", SAVED_S)
def test_a_figure_is_soon_there_and_soon_saved(board: Any, tmp_path: Path, layout: str) -> None:
    instrument = lowest(layout)
    hz = instrument.reeds[instrument.sounding_order()[0]].target_hz
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        give(board, ledger, instrument)
        board.rest(1.0)
        sound = reed(hz * 2 ** (5 / 1200), SAVED_S[layout] + 0.6, flat_cents=40)
        shown = [screens(board, sound, SAVED_S[layout] + 0.4) for _ in range(2)]
        kept = fetch(board, ledger).kept
        flags = [take.flags for take in ledger.takes(kept.surveys[-1])]
    print(f"{hz:.0f} Hz: first figure {[one[0] for one in shown]}, saved and shown {[one[-1] for one in shown]}")
    assert flags == [(), ()]
    if hz > 250:
        assert max(one[0] for one in shown) < FIRST_S
    assert max(one[-1] for one in shown) < SAVED_S[layout], "a saved take is shown at once"


@pytest.mark.timeout(600)
@pytest.mark.parametrize(("falls_from_s", "first_s", "last_s"), [(0.0, 0.0, 0.8), (1.7, 2.0, 3.4)])
def test_the_figure_at_the_bench_is_new_eight_times_a_second(
    board: Any, tmp_path: Path, falls_from_s: float, first_s: float, last_s: float
) -> None:
    """From the onset on, and again after the take where the reed, sounding on, moves."""
    instrument = lowest("richter-10")
    hz = instrument.reeds[instrument.sounding_order()[0]].target_hz
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        give(board, ledger, instrument)
        tap(board, "do", 1.2)  # to what is to be done
        tap(board, "down")
        tap(board, "do")
        board.rest(2.0)  # loading
        fetch(board, ledger)
        sound = reed(hz, last_s + 1.2, falls_from_s=falls_from_s)
        shown = [when for when in screens(board, sound, last_s) if when > first_s]
        assert fetch(board, ledger).kept.takes == 1, "one sounding, unbroken, is one take"
    rate = (len(shown) - 1) / (shown[-1] - shown[0])
    print(f"{rate:.1f} new figures a second: {[round(when, 2) for when in shown]}")
    assert rate >= LEAST
