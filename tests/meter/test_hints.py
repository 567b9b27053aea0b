"""What is wrong with a sound is said while it lasts, by the real listener on MicroPython. The sounds are computed."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from signals import RATE, tone

SCRIPT = """
from meter.ear import Ear
from meter.memory import samples
from recording import Recording

told = []
for path in values:
    with open(path, "rb") as file:
        recording = Recording(file, [])
        ear = Ear(recording, samples)
        seen = []
        while not recording.over:
            if ear.step():
                ear.drop()
            said = (ear.listener.phase, ear.listener.hint())
            if not seen or seen[-1] != said:
                seen.append(said)
        told.append(seen)
print(json.dumps(told))
"""
ROOM = -70.0  # dB from full scale


def sound(level_db: float, room_db: float, held: float = 32767.0) -> Any:
    """Half a second of room, a reed of 0.9 s whose largest sample lies at `level_db`, and room again."""
    rng = np.random.default_rng(3)
    one = tone(440.0, 0.9, 60, rng).samples
    one = one / np.max(np.abs(one)) * 32767 * 10 ** (level_db / 20)
    quiet = np.zeros(RATE // 2)
    whole = np.concatenate((quiet, one, quiet))
    whole = whole + rng.normal(0, 32768 / np.sqrt(2) * 10 ** (room_db / 20), len(whole))
    return np.clip(whole, -held, held)


@pytest.fixture
def told(micropython: Callable[..., Any], tmp_path: Path) -> Callable[..., set[tuple[str, str]]]:
    """Phases with what was said in them."""

    def run(samples: Any) -> set[tuple[str, str]]:
        path = tmp_path / "one.raw"
        path.write_bytes((np.round(samples).astype(np.int32) << 16).astype("<i4").tobytes())
        return {(phase, said) for phase, said in micropython(SCRIPT, [str(path)])[0] if said}

    return run


def test_a_good_sound_in_a_quiet_room_is_left_alone(told: Callable[..., Any]) -> None:
    assert told(sound(-15, ROOM)) == set()


def test_one_that_is_too_near_is_told_while_it_sounds(told: Callable[..., Any]) -> None:
    assert ("gather", "clipped") in told(sound(9, ROOM))


def test_one_that_is_too_soft_is_told_while_it_sounds(told: Callable[..., Any]) -> None:
    found = told(sound(-40, -58))
    assert ("gather", "soft") in found and all(phase == "gather" for phase, _ in found)


def test_a_loud_room_is_told_while_nothing_sounds(told: Callable[..., Any]) -> None:
    assert told(sound(-6, -38)) == {("wait", "loud room")}
