"""A crystal that runs off, down the whole road: found over the real link, told to the real meter, applied, recorded."""

import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest
from reedbench import clock
from reedbench.calibrating import Calibration, watch
from reedbench.desk.audio import RATE, Words
from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Player, ReedPlayer
from reedbench.desk.scenario import demo_scenario
from reedbench.ledger import Ledger
from reedbench.link import Meter, converse, greet
from reedbench.load import load
from reedbench.pull import pull
from reedbench.tuning import cents_between

PPM = 50.0
CENTS = 1200 * np.log2(1 + PPM * 1e-6)  # 0.087
pytestmark = [pytest.mark.usefixtures("micropython_program"), pytest.mark.timeout(400)]


class Noting(ReedPlayer):
    """Notes where in a sounding the meter missed a part while it wrote flash: what it hears then comes later."""

    def __init__(self) -> None:
        super().__init__(demo_scenario(1))
        self.missed: dict[int, int] = {}

    def samples(self, need: int, count: int, lost_ms: int, words: list[str] | None) -> Words:
        if lost_ms and len(self._queue):
            self.missed.setdefault(self.soundings[-1].start, count)
        return super().samples(need, count, lost_ms, words)


@pytest.fixture
def held(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever runs the test, his clock and the desk's are the same, so a time server makes no difference here."""
    monkeypatch.setattr(clock, "held", lambda: True)


def watched(talk: Meter, ledger: Ledger) -> list[Calibration]:
    """Looked at until it is known to 6 ppm: on an idle computer that takes 20 s, on a busy one up to two minutes.

    What was found after each 20 s: the meter may have been told each time.
    """
    found: list[Calibration] = []
    while len(found) < 6 and not (found and found[-1].rate and found[-1].rate.u_ppm < 6):
        found.append(watch(talk, ledger, 20))
    return found


@pytest.mark.usefixtures("held")
def test_takes_are_corrected_from_the_moment_that_the_error_is_known(tmp_path: Path) -> None:
    player = Noting()
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        with (
            DeskMeter(player, fast=False, crystal_ppm=PPM) as meter,
            converse(meter.port, ledger.identity) as talk,
        ):
            load(talk.link, demo_scenario(1).instrument, "assembled", 0)
            looks = watched(talk, ledger)
            found = looks[-1]
            assert found.told and found.rate and abs(found.rate.ppm - PPM) <= 2 * found.rate.u_ppm < 12
            until = time.monotonic() + 60
            done = talk.link.request("status")["done"]
            while talk.link.request("status")["done"] < done + 3:
                assert time.monotonic() < until
                time.sleep(0.5)
            with_all = greet(talk.link, meter.port, ledger.identity)
            pull(with_all, ledger)
        takes = ledger.takes(1)
        told = ledger._all("SELECT clock_ppb, clock_u_ppb FROM takes ORDER BY sequence")
    corrected = [row["clock_ppb"] for row in told]
    assert corrected[0] == 0 and told[0]["clock_u_ppb"] == 30000, "what was recorded before stays as it was"
    assert corrected[-1] == round(1e3 * found.rate.ppm) and told[-1]["clock_u_ppb"] < 8000
    told_ppb = [0, *(round(1e3 * one.rate.ppm) for one in looks if one.told and one.rate)]
    assert set(corrected) <= set(told_ppb) and corrected == sorted(corrected, key=told_ppb.index)
    looked_at = set()
    for take, ppb in zip(takes, corrected, strict=True):
        played = max((one for one in player.soundings if one.start <= take.start_sample), key=lambda one: one.start)
        span = round(take.span_s * RATE)
        true = played.sounded_hz(take.start_sample, span)
        whole = take.start_sample + span <= player.missed.get(played.start, 1 << 40)
        if whole and true and take.hz and not take.flags:
            left_ppm = ppb * 1e-3 - PPM
            assert cents_between(take.hz, true) == pytest.approx(CENTS * left_ppm / PPM, abs=0.008)
            looked_at.add(ppb)
    assert {0, corrected[-1]} <= looked_at


@pytest.mark.exhaustive
@pytest.mark.usefixtures("held")
def test_injected_errors_are_found_within_3_ppm_in_two_minutes(tmp_path: Path) -> None:
    """Three meters side by side: what each of them takes is time, not work."""

    def look(ppm: float) -> Calibration:
        with (
            DeskMeter(Player(), fast=False, crystal_ppm=ppm) as meter,
            Ledger.open(tmp_path / f"{ppm}.db", write=True) as ledger,
            converse(meter.port, ledger.identity) as talk,
        ):
            return watch(talk, ledger, 120)

    errors = PPM, -PPM, 0.0
    with ThreadPoolExecutor(len(errors)) as pool:
        for ppm, found in zip(errors, pool.map(look, errors), strict=True):
            assert found.told and found.rate and abs(found.rate.ppm - ppm) < 3, found
