"""The model of place and microphone against its sources, and what the firmware makes of some places."""

import sys
from importlib import import_module
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from reedbench.__main__ import run
from reedbench.desk.around import AROUND, FULL_SCALE_DB, Around, caught
from reedbench.desk.audio import RATE

sys.path.append(str(Path(__file__).parents[1] / "bench"))
bench: Any = import_module("around")


def sine(db_spl: float, hz: float = 1000.0) -> Any:
    return 10 ** ((db_spl - FULL_SCALE_DB) / 20) * np.sin(2 * np.pi * hz * np.arange(RATE) / RATE)


def level_db(sound: Any, skip: int = RATE // 4) -> float:
    return float(10 * np.log10(np.mean(sound[skip:] ** 2)))


def line(sound: Any, hz: int) -> float:
    return float(np.abs(np.fft.rfft(sound)[hz]))


def test_the_microphone_is_that_of_its_data_sheet() -> None:
    """DS-INMP441-00 rev. 1.1, table 1: -26 dBFS at 94 dB SPL, 3 % at 105, 120 at most, 3 dB less at 60 Hz."""
    assert level_db(caught(sine(94))) + 10 * np.log10(2) == pytest.approx(-26, abs=0.1)
    bent = caught(sine(105))
    assert line(bent, 2000) / line(bent, 1000) == pytest.approx(0.03, rel=0.05)
    assert np.max(caught(sine(119))) <= 1.0 and np.max(caught(sine(125))) == 1.0
    assert level_db(caught(sine(94, 60))) - level_db(caught(sine(94))) == pytest.approx(-3, abs=0.2)


def test_levels_are_those_of_the_page() -> None:
    """hardware/microphone.md: the firmware counts dB SPL less 123; half the way is 6 dB; the stream's table."""
    assert Around(reed_db=94, distance_cm=10).tone_dbfs == pytest.approx(-29, abs=0.05)
    assert Around(distance_cm=10).tone_dbfs - Around(distance_cm=20).tone_dbfs == pytest.approx(6.02, abs=0.01)
    for cm, m_s, db in ((5, 6.0, 115), (10, 3.0, 102), (15, 2.0, 95), (20, 1.5, 90), (30, 1.0, 83)):
        stream = Around(distance_cm=cm, aside_cm=0)
        assert stream.wind_m_s == pytest.approx(m_s, abs=0.06) and stream.wind_db == pytest.approx(db, abs=0.5)
    assert AROUND["beside-breath"].wind_m_s < 0.01, "a hand's breadth aside there is nothing"
    quiet = caught(Around(room_db=-50).room(4 * RATE, np.random.default_rng(1)))
    assert level_db(quiet) + 123 - 3 == pytest.approx(33 - 3, abs=1)


@pytest.mark.parametrize("name", ["usual", "loud-touching", "workshop", "beside-breath", "motor"])
def test_where_a_meter_may_stand_it_hears_everything(micropython_program: str, name: str) -> None:
    what = bench.found(name, holes=2, soundings=1)
    assert what.good == what.soundings == 4 and what.worst_cents < 0.05


def test_in_a_soft_notes_breath_it_keeps_nothing_unflagged(micropython_program: str) -> None:
    assert bench.found("in-breath-soft", holes=2, soundings=1).good == 0


def test_a_place_needs_an_instrument(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["desk", "--around", "usual", "--quiet-room"]) == 2
    assert "--around needs an instrument" in capsys.readouterr().err
