"""The listener on MicroPython: from quiet to quiet, one sounding after another, whatever the room does."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from signals import RATE, Samples, tone

SCRIPT = """
from recording import hear

print(json.dumps([hear(*one) for one in values]))
"""
ALLOCATION = """
import gc
from array import array
from meter.ear import Ear
from meter.memory import samples

class Recording:
    def __init__(self, path):
        self._words = array("i", open(path, "rb").read())
        self.count = 0
    def over(self):
        return self.count + 256 > len(self._words)
    def read(self, words):
        i = 0
        while i < 256:
            words[i] = self._words[self.count + i]
            i += 1
        self.count += 256
        return 0

recording = Recording(values)
ear = Ear(recording, samples)
phases = ["wait", "attack", "gather", "release"]
seen = []
taking = 0
gc.collect()
gc.disable()
while not recording.over():
    before = gc.mem_alloc()
    ready = ear.step(440.0)
    if gc.mem_alloc() != before:
        taking += 1
    if ear.listener.phase in phases and ear.listener.phase not in seen:
        seen.append(ear.listener.phase)
    if ready:
        ear.tone(440.0)
print(json.dumps([seen, taking]))
"""
Listen = Callable[..., dict[str, Any]]


@pytest.fixture
def listen(micropython: Callable[..., Any], tmp_path: Path) -> Listen:
    def run(sound: Samples, expected: float = 0.0, losses: list[list[int]] | None = None) -> dict[str, Any]:
        path = tmp_path / "words"
        path.write_bytes((np.clip(np.round(sound * 2**23), -(2**23), 2**23 - 1).astype("<i4") << 8).tobytes())
        (told,) = micropython(SCRIPT, [[str(path), expected, losses or []]])
        return told

    return run


RNG = np.random.default_rng(21)


def quiet(seconds: float, level: float = 1e-4) -> Samples:
    return level * RNG.standard_normal(int(seconds * RATE))


def sounding(hz: float, seconds: float = 1.4, level: float = 0.2, fall_db_s: float = 0.0) -> Samples:
    """A reed-like tone that sets in within 15 ms and stops within 10."""
    one = tone(hz, seconds, 45, RNG, level=1.0).samples / 32768.0 * level
    t = np.arange(len(one)) / RATE
    return one * (1 - np.exp(-t / 0.015)) * np.minimum(1, (seconds - t) / 0.01) * 10 ** (-fall_db_s * t / 20)


def figures(told: dict[str, Any]) -> list[float]:
    return [take["uhz"] / 1e6 for take in told["heard"] if take["uhz"] and not take["flags"]]


def test_three_soundings_are_three_takes(listen: Listen) -> None:
    told = listen(
        np.concatenate([quiet(0.3), *(np.concatenate([sounding(hz), quiet(0.4)]) for hz in (220, 440, 1760))])
    )
    assert figures(told) == pytest.approx([220, 440, 1760], rel=0.02 / 1731)
    assert told["phase"] == "wait"


def test_one_long_breath_is_one_take(listen: Listen) -> None:
    assert len(listen(np.concatenate([quiet(0.3), sounding(440, 6.0), quiet(0.3)]))["heard"]) == 1


@pytest.mark.parametrize("fall_db_s", [8.0, 20.0, 40.0])
def test_a_note_that_dies_away_is_one_take(fall_db_s: float, listen: Listen) -> None:
    told = listen(np.concatenate([quiet(0.3), sounding(440, 4.0, 0.4, fall_db_s), quiet(1.0)]))
    assert len(told["heard"]) == 1


def test_a_cough_and_a_knock_are_no_takes(listen: Listen) -> None:
    burst = RNG.standard_normal(int(0.2 * RATE)) * np.exp(-np.arange(int(0.2 * RATE)) / RATE / 0.05) * 0.2
    told = listen(np.concatenate([quiet(0.3), burst, quiet(0.5), burst[:600], quiet(0.5), sounding(440), quiet(0.3)]))
    assert figures(told) == pytest.approx([440], rel=0.02 / 1731) and len(told["heard"]) == 1


def test_a_click_of_the_slide_before_a_soft_note_does_not_cost_it(listen: Listen) -> None:
    click = 0.2 * RNG.standard_normal(int(0.03 * RATE))
    told = listen(np.concatenate([quiet(0.3), click, sounding(440, 1.6, 0.03), quiet(0.3)]))
    assert figures(told) == pytest.approx([440], rel=0.05 / 1731)


def test_a_fan_becomes_the_new_quiet(listen: Listen) -> None:
    fan = quiet(12.0, 10 ** (-50 / 20))
    for place in (4.0, 7.0, 10.0):
        start = int(place * RATE)
        note = sounding(440, 1.4, 0.25)
        fan[start : start + len(note)] += note
    assert len(figures(listen(np.concatenate([quiet(0.5), fan])))) == 3


def test_an_offset_of_the_microphone_is_no_sound(listen: Listen) -> None:
    told = listen(np.concatenate([quiet(2.0), sounding(440), quiet(0.4)]) + 0.05, 440.0)
    assert figures(told) == pytest.approx([440], rel=0.02 / 1731) and len(told["heard"]) == 1


@pytest.mark.parametrize("place", [0.35, 0.55, 0.9])
def test_a_lost_block_costs_no_take(place: float, listen: Listen) -> None:
    """What sounded before the gap is enough, or what sounds after it is; the block that it lies in is neither."""
    sound = np.concatenate([quiet(0.3), sounding(440), quiet(0.4), sounding(441), quiet(0.4)])
    at = int(place * RATE)
    told = listen(np.delete(sound, slice(at, at + 256)), 440.0, [[at, 256]])
    assert figures(told) == pytest.approx([440, 441], rel=0.001 / 1731) and len(told["heard"]) == 2


def test_samples_lost_again_and_again_cost_the_take_and_no_more(listen: Listen) -> None:
    sound = np.concatenate([quiet(0.3), sounding(440, 0.9), quiet(0.4), sounding(441), quiet(0.4)])
    told = listen(sound, 440.0, [[int(place * RATE), 256] for place in (0.55, 0.75, 0.95, 1.1)])
    assert figures(told) == pytest.approx([441], rel=0.02 / 1731) and told["refused"] == "gap"


def test_a_voice_before_the_reed_does_not_cost_it(listen: Listen) -> None:
    sound = np.concatenate([quiet(0.3), sounding(140, 0.5, 0.005), sounding(440, 1.4, 0.3), quiet(0.4)])
    assert figures(listen(sound, 440.0)) == pytest.approx([440], rel=0.02 / 1731)


def test_no_memory_is_taken_between_blocks(micropython: Callable[..., Any], tmp_path: Path) -> None:
    """Of the blocks of one sounding only those in which the period is looked for take any: two at most."""
    sound = np.concatenate([quiet(0.3), sounding(440), quiet(0.4)])
    path = tmp_path / "words"
    path.write_bytes((np.round(sound * 2**23).astype("<i4") << 8).tobytes())
    phases, taking = micropython(ALLOCATION, str(path))
    assert phases == ["wait", "attack", "gather", "release"] and taking <= 2, taking


@pytest.mark.parametrize(("hz", "seconds"), [(262.0, 0.3), (440.0, 0.28), (2000.0, 0.28), (131.0, 0.58)])
def test_a_quarter_of_a_second_is_enough_and_half_a_second_for_low_reeds(
    hz: float, seconds: float, listen: Listen
) -> None:
    told = listen(np.concatenate([quiet(0.3), sounding(hz, seconds), quiet(0.3)]), hz)
    assert figures(told) == pytest.approx([hz], rel=0.1 / 1731)


def test_a_low_reed_is_given_time_to_settle(listen: Listen) -> None:
    """A flat start of 60 cents with a time constant of 12 periods, as measured on recordings of reeds."""
    t = np.arange(int(2.2 * RATE)) / RATE
    low = tone(98.0, 2.2, 45, RNG, cents=-60 * np.exp(-t * 98 / 12), level=1.0).samples / 32768.0 * 0.2
    told = listen(np.concatenate([quiet(0.3), low, quiet(0.3)]), 98.0)
    assert figures(told) == pytest.approx([98.0], rel=0.1 / 1731)
