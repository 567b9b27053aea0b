"""The running figure of a sounding, on MicroPython: soon, often, and as good as it says. The tones are computed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from signals import RATE, tone

SCRIPT = """
from meter.ear import Ear
from meter.memory import samples

class Recording:
    count = 0
    def __init__(self, path):
        self._file = open(path, "rb")
        self.over = False
    def read(self, words):
        for i in range(len(words)):
            words[i] = 0
        self.over = (self._file.readinto(words) or 0) < 4 * len(words)
        self.count += len(words)
        return 0

told = []
for path in values:
    recording = Recording(path)
    ear = Ear(recording, samples)
    live = ear.live()
    figures = []
    while not recording.over and not ear.step():
        if live.follow():
            figures.append((recording.count, live.hz, live.se_cents))
    told.append(figures)
print(json.dumps(told))
"""
GOES_ON = (
    SCRIPT[: SCRIPT.index("told = []")]
    + """
def show(path):
    \"\"\"[seconds, Hz, whether that is the take's] of each figure that is shown, from the take on.\"\"\"
    recording = Recording(path)
    ear = Ear(recording, samples)
    live = ear.live()
    shown = []
    while not recording.over:
        if ear.step():
            tone = ear.tone()
            live.take(tone)
            shown.append((recording.count / 16000, tone.hz, True))
        elif live.follow() and shown:
            tone = live.tone
            shown.append((recording.count / 16000, (tone or live).hz, tone is not None))
    return shown

print(json.dumps(show(values)))
"""
)
REST = 0.4  # seconds of room before the tone
PITCHES = (65.4, 196.0, 440.0, 1046.5, 2093.0)


@pytest.fixture(scope="module")
def tones() -> dict[float, Any]:
    return {hz: tone(hz, 0.9, 40, np.random.default_rng(int(hz))) for hz in PITCHES}


def test_soon_often_and_right(micropython: Callable[..., Any], tones: dict[float, Any], tmp_path: Path) -> None:
    paths = []
    rng = np.random.default_rng(1)
    for hz, one in tones.items():
        room = rng.normal(0, 2, int(REST * RATE))
        words = np.concatenate((room, one.samples)).astype(np.int32) << 16
        paths.append(tmp_path / f"{hz}.raw")
        paths[-1].write_bytes(words.astype("<i4").tobytes())
    for (hz, one), figures in zip(tones.items(), micropython(SCRIPT, [str(path) for path in paths]), strict=True):
        times = [count / RATE - REST for count, _, _ in figures]
        assert times[0] < 0.15, "the look itself takes a board another tenth of a second at most"
        assert max(np.diff(times[1:]), default=0) < 0.125, "eight a second while the tone is gathered"
        off = [1200 * np.log2(found / one.hz) for _, found, _ in figures]
        assert abs(off[0]) < 30 and figures[0][2] is None
        assert len(figures) >= 3
        for cents, (_, _, se_cents) in zip(off[1:], figures[1:], strict=True):
            assert abs(cents) < 4 * se_cents + 0.02, f"{hz} Hz: {cents:.3f} cents, said to be within {2 * se_cents:.3f}"
            assert se_cents < 0.3


def shown(micropython: Callable[..., Any], tmp_path: Path, cents: Any) -> list[list[Any]]:
    """What is shown of 440 Hz that run so many cents off, sample by sample, between half seconds of room."""
    room = np.random.default_rng(2).normal(0, 2, RATE // 2)
    one = tone(440.0, len(cents) / RATE, 45, np.random.default_rng(3), cents=cents).samples
    path = tmp_path / "one.raw"
    path.write_bytes((np.concatenate((room, one, room)).astype(np.int32) << 16).astype("<i4").tobytes())
    return micropython(GOES_ON, str(path))


def test_a_reed_that_sounds_on_shows_its_take(micropython: Callable[..., Any], tmp_path: Path) -> None:
    assert len(shown(micropython, tmp_path, np.zeros(4 * RATE))) == 1


def test_a_reed_that_moves_off_its_take_is_followed_until_it_stops(
    micropython: Callable[..., Any], tmp_path: Path
) -> None:
    t = np.arange(5 * RATE) / RATE
    cents = np.interp(t, (2.0, 3.0), (0.0, 6.0))  # metal comes off the tip while it sounds
    figures = shown(micropython, tmp_path, cents)
    (_, taken_hz, _), *running, last = figures
    assert last[1:] == [taken_hz, True], "silent, the take is held"
    assert all(not of_take for _, _, of_take in running)
    times = [when for when, _, _ in running]
    assert 0.5 + 2.0 + 1 / 6 < times[0] < 0.5 + 2.0 + 1 / 6 + 0.3, "one cent off is where it begins"
    assert times[-1] > 0.5 + 5.0 - 0.15 and max(np.diff(times)) < 0.125, "eight a second, to the end"
    for when, hz, _ in running:
        there = np.interp(when - 0.5 - 0.06, t, cents)  # the middle of what is looked at
        assert abs(1200 * np.log2(hz / 440.0) - there) < 0.3


def test_a_reed_that_comes_back_shows_its_take_again(micropython: Callable[..., Any], tmp_path: Path) -> None:
    t = np.arange(4 * RATE) / RATE
    cents = np.interp(t, (1.5, 1.6, 2.4, 2.5), (0.0, -4.0, -4.0, 0.0))  # pressed, and let go
    figures = shown(micropython, tmp_path, cents)
    assert [of_take for _, _, of_take in figures[1:]][-1] and len(figures) > 6
    assert figures[-1][0] < 0.5 + 2.5 + 0.3, "and that is the last that is new"


def test_another_note_without_a_rest_is_not_shown_as_this_one(micropython: Callable[..., Any], tmp_path: Path) -> None:
    for slur in (-1200.0, -700.0, -400.0, 200.0, 500.0, 1200.0):
        cents = np.where(np.arange(3 * RATE) < 1.5 * RATE, 0.0, slur)
        figures = shown(micropython, tmp_path, cents)
        running = [when for when, _, of_take in figures if not of_take]
        assert all(0.5 + 1.5 < when < 0.5 + 1.5 + 0.4 for when in running), f"{slur}: {figures}"
        assert figures[-1][2]
