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
