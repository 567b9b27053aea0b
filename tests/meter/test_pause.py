"""The microphone stands still while flash is written: a tone that begins about then is measured whole or not at all."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from signals import RATE, Samples, tone
from test_listen import SCRIPT

BLOCK = 256
PAUSES_MS = (50, 300)  # one sector erased and programmed; an instrument written
QUIET_S = 0.5
LIMIT_CENTS = 1.0  # a take that holds a part of the attack, or a jump where samples are missing, is farther off


def reed(hz: float, seconds: float, rng: np.random.Generator) -> Samples:
    """A tone that sets in 40 cents flat and settles within a dozen periods, as a reed does."""
    t = np.arange(int(seconds * RATE)) / RATE
    sound = tone(hz, seconds, 45, rng, cents=-40 * np.exp(-t * hz / 12), level=0.2).samples / 32768.0
    return sound * (1 - np.exp(-t / 0.015)) * np.minimum(1, (seconds - t) / 0.01)


def cases() -> list[tuple[float, float, int, int]]:
    """(hertz, seconds, pause in ms, onset in ms after the pause begins)."""
    return [
        (hz, seconds, pause, onset)
        for hz in (131.0, 440.0, 1760.0)
        for seconds in (0.45, 1.3)
        for pause in PAUSES_MS
        for onset in (-56, -40, -24, -12, -4, 8, pause // 2, pause - 8)
    ]


def test_no_tone_is_half_taken(micropython: Callable[..., Any], tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    values = []
    begins = BLOCK * round(QUIET_S * RATE / BLOCK)  # a pause begins between two blocks
    for number, (hz, seconds, pause_ms, onset_ms) in enumerate(cases()):
        pause, onset = pause_ms * RATE // 1000, begins + onset_ms * RATE // 1000
        sound = 1e-4 * rng.standard_normal(onset + int((seconds + 0.6) * RATE))
        played = reed(hz, seconds, rng)
        sound[onset : onset + len(played)] += played
        heard = np.concatenate((sound[:begins], sound[begins + pause :]))
        path = tmp_path / f"{number}.words"
        path.write_bytes((np.round(heard * 2**23).astype("<i4") << 8).tobytes())
        values.append([str(path), hz, [[begins, pause]]])
    found = micropython(SCRIPT, values)
    taken = 0
    for case, told in zip(cases(), found, strict=True):
        assert len(told["heard"]) <= 1, case
        for take in told["heard"]:
            assert take["start"] >= begins, f"{case}: the tone is one with what came before the pause"
            if take["uhz"] and not take["flags"]:
                taken += 1
                cents = 1200 * np.log2(take["uhz"] / 1e6 / case[0])
                assert abs(cents) < LIMIT_CENTS, f"{case}: {cents:.2f} cents off, from {take['start']} on"
    assert taken > len(cases()) // 3, "hardly a tone was taken: the test shows nothing"
