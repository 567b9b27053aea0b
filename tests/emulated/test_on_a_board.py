"""The firmware on a board: it boots, hears a reed, journals it and hands it to the real host, within its memory."""

import math
from pathlib import Path
from typing import Any

import pytest
from played import Played
from reedbench.desk.audio import RATE, write_words
from reedbench.desk.scenario import demo_scenario
from reedbench.firmware.wire.messages import COUNTER_US
from reedbench.hearing import hear
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from reedbench.pull import pull

HEAP_LEAST = 60_000  # bytes free with the whole firmware loaded and a survey running
PICTURES = Path(__file__).parents[2] / "build" / "board"


@pytest.mark.timeout(600)
def test_a_reed_is_heard_journaled_and_pulled(board: Any, tmp_path: Path) -> None:
    scenario = demo_scenario(1)
    instrument = scenario.instrument
    reed = instrument.reeds[instrument.sounding_order()[0]]
    player = Played(scenario)
    PICTURES.mkdir(parents=True, exist_ok=True)
    with Ledger.open(tmp_path / "ledger.sqlite", write=True) as ledger:
        with converse(board.port, ledger.identity) as meter:
            assert meter.board == "pico"
            assert load(meter.link, instrument, "assembled", 0) == 64
            status = meter.link.request("status")
            ticks = [meter.link.request("ticks")]
        board.picture(PICTURES / "called.png")
        soundings = []
        free = [status["heap_free"]]
        for number in (1, 2):
            sounding = player.sounding((reed.place, reed.breath, reed.slide), number)
            soundings.append(sounding)
            board.sound(sounding.words)
            board.rest(len(sounding.words) / RATE + 2.5)
            board.picture(PICTURES / f"take-{number}.png")
            with converse(board.port, ledger.identity) as meter:
                status = meter.link.request("status")
                free.append(status["heap_free"])
        assert (status["doing"], status["done"], status["of"]) == ("survey", 1, 64)
        with converse(board.port, ledger.identity) as meter:
            pulled = pull(meter, ledger)
            ticks.append(meter.link.request("ticks"))
            assert meter.link.request("calibrate", ledger=ledger.identity, error_ppb=-20000, u_ppb=3000)["taken"]
        assert (pulled.kept.records, pulled.kept.takes) == (3, 2)
        takes = ledger.takes(pulled.kept.surveys[0])
    # Both running clocks are of one run of the board, and of one crystal.
    seconds, us = (ticks[1][name] - ticks[0][name] for name in ("up_s", "us"))
    assert ticks[0]["boot"] == ticks[1]["boot"] and seconds > 5
    assert abs(us % COUNTER_US - 1_000_000 * seconds) < 1_000_000
    assert all(ticks[0]["up_s"] <= take.up_s <= ticks[1]["up_s"] for take in takes)
    files = []
    for number, sounding in enumerate(soundings):
        files.append(tmp_path / f"{number}.wav")
        write_words(files[-1], sounding.words)
    # The same recordings through the same chain on the Unix port, whose words and floats are twice as wide.
    for take, sounding, heard in zip(takes, soundings, hear(files, reed.target_hz), strict=True):
        assert take.ordinal == reed.ordinal and take.flags == ()
        assert take.hz is not None and take.hz == pytest.approx(heard["takes"][0]["hz"], rel=0.05 / 1731)
        start, span = round(heard["takes"][0]["start_s"] * RATE), round(heard["takes"][0]["span_s"] * RATE)
        assert abs(1200 * math.log2(take.hz / (sounding.sounded_hz(start, span) or 1.0))) < 0.1
    print(f"heap free: {free}")
    assert min(free) >= HEAP_LEAST, f"heap free: {free}"
