"""A whole instrument surveyed from WAV files on a board, pulled by the real host, against what was sounded."""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from played import AFTER_S, Played, fetch, give, status
from reedbench import layouts
from reedbench.desk.audio import RATE, read_words, write_words
from reedbench.desk.players import address_of
from reedbench.desk.scenario import Scenario
from reedbench.instrument import Instrument, TuningOrder
from reedbench.ledger import Ledger

HEAP_LEAST = 60_000  # bytes, as in test_on_a_board
MOST = 4  # soundings of one reed


@pytest.mark.timeout(3600)
def test_a_survey_of_twenty_reeds(board: Any, tmp_path: Path) -> None:
    order = TuningOrder(441.5)
    instrument = Instrument("00112233445566aa", "On a board", layouts.load("richter-10"), key="C", order=order)
    hidden = tuple(float(cents) for cents in np.random.default_rng(3).normal(0, 6, len(instrument.reeds)))
    player = Played(Scenario(5, instrument, hidden, {}))
    free = []
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        give(board, ledger, instrument)
        for place, ordinal in enumerate(instrument.sounding_order()):
            reed = instrument.reeds[ordinal]
            for number in range(1, MOST + 1):
                file = tmp_path / f"{ordinal}-{number}.wav"
                write_words(file, player.sounding(address_of(reed), number).words)
                words = read_words(file)
                board.sound(words)
                board.rest(len(words) / RATE + AFTER_S)
                told = status(board, ledger) if number > 1 else {"done": 0}
                if told["done"] > place:
                    break
            assert told["done"] == place + 1, f"{reed.label} was sounded {MOST} times: {told}"
            free.append(told["heap_free"])
        pulled = fetch(board, ledger)
        takes = ledger.takes(pulled.kept.surveys[0])
    assert {take.ordinal for take in takes} == {reed.ordinal for reed in instrument.reeds}
    found: dict[int, list[float]] = {}
    for take in takes:
        if take.hz:
            target_hz = instrument.reeds[take.ordinal].target_hz
            found.setdefault(take.ordinal, []).append(1200 * math.log2(take.hz / target_hz))
    errors = [np.mean(found[ordinal]) - hidden[ordinal] for ordinal in range(len(hidden))]
    # The player scatters by 0.35 cent from breath to breath, so the mean of two by 0.25.
    assert np.max(np.abs(errors)) < 1.0 and np.std(errors) < 0.4
    assert min(free) >= HEAP_LEAST, f"heap free: {free}"
    print(f"{len(takes)} takes, {np.std(errors):.2f} cent RMS, heap free {min(free)} at least")
