"""Real flash takes its time: a tone that begins while it is written is measured after its own onset, or not at all.

The microphone stands still while flash is erased and programmed, and the room does not wait. Two ways into that pause:
a take is being saved when the next tone begins, and the host has something stored while nothing sounds.
"""

import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from reedbench.desk.audio import RATE, Words, to_words
from reedbench.firmware.wire.messages import COUNTER_US
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger
from reedbench.link import Link, greet
from reedbench.load import load
from reedbench.port import open_port
from reedbench.pull import pull
from reedbench.tuning import raised

TONE_S = 1.0  # heard out, or nearly, when the measuring begins
GAPS_S = (1.05, 1.15, 1.25, 1.35, 1.45, 1.6, 1.8, 2.1)  # from the onset of the tone that is saved to that of the next
ONSETS_S = (0.0, 0.02, 0.05, 0.08, 0.12, 0.16, 0.25, 0.4)  # after the host has asked for something to be stored
FIRST_CENTS, NEXT_CENTS = 8.0, -8.0  # so far apart that a take of both at once would show
LIMIT_CENTS = 0.5  # a take with a part of the attack or a jump in it is farther off
STORED_LEAST_US = 45_000  # of one sector erased (the flash chip's data sheet, typical)
LOST_LEAST_S = 0.1  # of the room while a take is measured and saved
PATIENCE_S = 120.0  # an emulated board may be far slower than a real one


def tone(hz: float, seconds: float) -> np.ndarray:
    """A tone that sets in 40 cents flat and settles within a dozen periods, as a reed does."""
    t = np.arange(int(seconds * RATE)) / RATE
    phase = 2 * np.pi * np.cumsum(hz * 2 ** (-40 / 1200 * np.exp(-t * hz / 12))) / RATE
    sound = 0.06 * sum(np.sin(n * phase) / n for n in (1, 2, 3))
    return sound * (1 - np.exp(-t / 0.015)) * np.minimum(1, (seconds - t) / 0.01)


def room(*tones: tuple[float, np.ndarray]) -> Words:
    """What the microphone hears of tones that begin after so many seconds, in a quiet room."""
    whole = 1e-4 * np.random.default_rng(3).standard_normal(int(4 * RATE))
    for onset_s, sound in tones:
        at = int(onset_s * RATE)
        whole[at : at + len(sound)] += sound
    return to_words(whole)


@pytest.fixture
def instrument() -> Instrument:
    return Instrument.from_dict(
        {
            "reedbench": "instrument",
            "version": 1,
            "key_id": "00000000000000aa",
            "name": "pause",
            "layout": "richter-10",
            "key": "C",
            "order": {"reference_hz": 440.0, "temperament": "equal", "drop_cents": 0.0, "tolerance_cents": 3.0},
        }
    )


@pytest.mark.timeout(1500)
def test_no_tone_is_half_taken_while_flash_is_written(board: Any, tmp_path: Path, instrument: Instrument) -> None:
    reed = instrument.reeds[instrument.sounding_order()[0]]
    first, following = (tone(raised(reed.target_hz, cents), TONE_S) for cents in (FIRST_CENTS, NEXT_CENTS))
    with Ledger.open(tmp_path / "ledger.db", write=True) as ledger, open_port(board.port) as opened:
        link = Link(opened, patience_s=PATIENCE_S)
        for gap_s in GAPS_S:
            load(link, instrument, "assembled", 0)
            board.sound(room((0.3, first), (0.3 + gap_s, following)))
            board.rest(4.0)
        for onset_s in ONSETS_S:
            load(link, instrument, "assembled", 0)
            board.sound(room((onset_s, following)))
            began_us = link.request("ticks")["us"]
            link.request("calibrate", ledger=ledger.identity, error_ppb=0, u_ppb=3000)
            assert (link.request("ticks")["us"] - began_us) % COUNTER_US > STORED_LEAST_US, "flash takes no time here"
            board.rest(3.0)
        surveys = pull(greet(link, board.port, ledger.identity), ledger).kept.surveys
        takes = [ledger.takes(number) for number in surveys]
    assert all(take.hz and not take.flags for heard in takes for take in heard)
    cents = [[1200 * math.log2((take.hz or 1.0) / reed.target_hz) for take in heard] for heard in takes]
    after_a_take, after_a_request = cents[: len(GAPS_S)], cents[len(GAPS_S) :]
    for heard in after_a_take:  # the first tone, and the next one or, as if it had not sounded, nothing
        assert heard == pytest.approx([FIRST_CENTS, NEXT_CENTS][: len(heard)], abs=LIMIT_CENTS)
    assert [len(heard) for heard in (after_a_take[0], after_a_take[-1])] == [1, 2], "no pause, or one without an end"
    assert len(after_a_request) <= len(ONSETS_S)
    for heard in after_a_request:
        assert heard == pytest.approx([NEXT_CENTS], abs=LIMIT_CENTS)
    begun = [take.start_sample for take in takes[len(GAPS_S) - 1]]
    assert begun[1] - begun[0] < (GAPS_S[-1] - LOST_LEAST_S) * RATE, "the room has waited for the microphone"
