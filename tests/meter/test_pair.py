"""Two reeds in a baseband, on real MicroPython: where they lie, and that one reed is not taken for two."""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from signals import CENTS, RATE, Samples, harmonics

SCRIPT = """
from array import array
from meter.baseband import Baseband
from meter.pair import Pair
from meter.pitch import Pitch

class Clipped:
    count, harmonics, step_s, span_s, oscillator_hz = 95, (1, 2, 3), 0.008, 0.75, 440.0

band = Baseband(Pitch().scratch)
found = []
for path, hz in values:
    data = open(path, "rb").read()
    if hz:
        band.begin(hz, (1, 2, 3) if hz < 1600 else (1, 2), 6000)
        band.feed(data, 0, len(data) // 2)
    else:
        Clipped.points = [array("h", data)] * 3
    pair = Pair(band if hz else Clipped)
    found.append(pair.found and (pair.low_hz, pair.high_hz, pair.beat_hz * band.span_s, pair.octave))
print(json.dumps(found))
"""
SURE = 0.5  # beats from which company.Company calls them two
Resolve = Callable[[Sequence[tuple[Samples, float]]], list[Any]]


@pytest.fixture
def resolve(micropython: Callable[..., Any], tmp_path: Path) -> Resolve:
    """Function that takes sounds and the hertz at which each is mixed down; 0 if it is points already."""

    def run(sounds: Sequence[tuple[Samples, float]]) -> list[Any]:
        values = []
        for number, (sound, hz) in enumerate(sounds):
            path = tmp_path / f"{number}.raw"
            path.write_bytes(np.round(sound).astype("<i2").tobytes())
            values.append([str(path), hz])
        found: list[Any] = micropython(SCRIPT, values, heap="32m")
        return found

    return run


def reed(track: Samples, rng: np.random.Generator) -> Samples:
    """Sound of power 1 of a reed whose pitch runs through `track`, in hertz at each sample."""
    phase = 2 * np.pi * np.cumsum(track) / RATE
    amplitudes = harmonics(float(np.max(track)), rng)
    sound = sum(a * np.cos((k + 1) * phase + rng.uniform(0, 2 * np.pi)) for k, a in enumerate(amplitudes))
    return np.asarray(sound / np.sqrt(np.mean(np.square(sound))))


def with_breath(sound: Samples, snr_db: float, rng: np.random.Generator) -> Samples:
    """16-bit counts of it, with noise."""
    sound = sound / np.sqrt(np.mean(sound**2))
    return 2000 * (sound + 10 ** (-snr_db / 20) * rng.standard_normal(len(sound)))


@pytest.mark.parametrize("octave", [False, True], ids=["unison", "octave"])
def test_where_two_reeds_lie(octave: bool, resolve: Resolve) -> None:
    """From a second; those that beat at least once in it. An octave's upper reed is not much above 1 kHz."""
    rng = np.random.default_rng(3 + octave)
    sounds, truths = [], []
    for hz in (220.0, 440.0, 523.0) if octave else (220.0, 440.0, 784.0, 1047.0, 2093.0):
        for cents in (4, 8, 15, 30):
            for faint_db in (0, -6, -12):
                if hz * cents / CENTS * (1 + octave) < 1:
                    continue
                low = hz * 2 ** (rng.uniform(-30, 30) / 1200)
                high = low * (1 + octave) * 2 ** (cents / 1200)
                pair = [reed(np.full(RATE, each), rng) for each in (low, high)]
                sound = with_breath(pair[0] + 10 ** (faint_db / 20) * pair[1], 35, rng)
                sounds.append((sound, low * 2 ** (rng.uniform(-3, 3) / 1200)))
                truths.append((low, high))
    found = resolve(sounds)
    assert all(one and one[3] == octave for one in found)
    errors = [abs(CENTS * np.log(one[i] / truth[i])) for one, truth in zip(found, truths, strict=True) for i in (0, 1)]
    assert np.median(errors) < 0.003 and np.quantile(errors, 0.9) < 0.02 and max(errors) < 0.2


def test_one_reed_is_not_taken_for_two(resolve: Resolve) -> None:
    """With breath, drift of 2 cents a second, tremor of a few cents, and swelling: one in a hundred may be."""
    rng = np.random.default_rng(8)
    t = np.arange(2 * RATE) / RATE
    sounds = []
    for hz in (110.0, 196.0, 262.0, 440.0, 698.0, 1047.0, 1760.0, 3136.0):
        for snr_db in (20, 30, 40):
            for drift, tremor, swell in ((0, 0, 0), (2, 0, 0), (0, 3, 0), (0, 0, 0.5), (-2, 0, 0.5)):
                cents = drift * t + tremor * np.sin(2 * np.pi * 5 * t + rng.uniform(0, 6))
                level = 1 + swell * np.sin(2 * np.pi * rng.uniform(0.3, 2) * t + rng.uniform(0, 6))
                sounds.append((with_breath(reed(hz * 2 ** (cents / 1200), rng) * level, snr_db, rng), hz))
    found = resolve(sounds)
    assert sum(one and one[2] >= SURE for one in found) <= len(sounds) / 100


def test_points_that_are_all_clipped_or_none(resolve: Resolve) -> None:
    """Whatever they are, what is left of them without a tone can be stored; silence is not two reeds."""
    rng = np.random.default_rng(1)
    turned = [np.sign(np.sin(np.arange(190) * angle + (np.arange(190) & 1) * np.pi / 2)) for angle in (0.01, 0.3, 0.9)]
    sounds = [(32767 * one, 0.0) for one in (np.ones(190), rng.choice([-1.0, 1.0], 190), *turned)]
    assert resolve([*sounds, (np.zeros(190), 0.0)])[len(sounds) :] == [False]
