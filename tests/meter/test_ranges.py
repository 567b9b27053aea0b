"""No intermediate of the integer loops leaves 32 bits, whatever comes in."""

import math
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
from checked import TooLarge, fits, loops

LOOPS: dict[str, Callable[..., Any]] = {}
for _file in ("blocks.py", "coarse.py", "plain.py", "mixing.py", "coherent.py", "track.py", "crossings.py"):
    LOOPS |= loops(_file)
LOOPS |= loops("pair.py", mix=LOOPS["mix"])
RATE = 16000
SINE = [math.floor(32767 * math.sin(2 * math.pi * (i % 2048) / 2048) + 0.5) for i in range(2560)]
ATAN = [int(math.atan(2.0**-i) / (2 * math.pi) * 2**28 + 0.5) for i in range(20)]


def square(period: float, count: int, most: int = 32767) -> list[int]:
    return [most if math.sin(2 * math.pi * (i + 0.5) / period) >= 0 else -most for i in range(count)]


def worst(count: int) -> dict[str, list[int]]:
    """Inputs that drive sums to their ends."""
    rng = np.random.default_rng(1)
    found = {f"square of {period}": square(period, count) for period in (2.0, 4.3, 17.0, 262.0, 524.0)}
    found["noise"] = [int(v) for v in rng.choice([-32767, 32767], count)]
    found["constant"] = [32767] * count
    found["step"] = [-32767] * (count // 2) + [32767] * (count - count // 2)
    return found


def test_the_check_finds_what_does_not_fit() -> None:
    assert fits(2**31 - 1, "") == 2**31 - 1
    with pytest.raises(TooLarge):
        fits(2**31, "")
    with pytest.raises(TooLarge):
        LOOPS["products"]([2**15] * 8, 4, 4, [0] * 5)


@pytest.mark.parametrize("name", worst(1))
def test_correlation(name: str) -> None:
    for side, every in ((1, 1), (0, 1), (1, 2)):
        width, lag_max = 512, 262
        count = width + lag_max
        samples = worst(every * count + 2)[name]
        mean = LOOPS["_sum"](samples, 0, every * count) // (every * count)
        y = [0] * count
        most = LOOPS["_smooth"](samples, 0, count, [mean, side, 4 - 2 * side, every], y)
        LOOPS["_shift"](y, count, max(0, most.bit_length() - 10))
        out = [0] * 5
        LOOPS["products"](y, width, 4, out)
        LOOPS["_normalise"](y, width, 4, out)
        assert out[0] >= 32700 or most == 0


@pytest.mark.parametrize("length", [40, 167, 500])
@pytest.mark.parametrize("name", worst(1))
def test_mixing(length: int, name: str) -> None:
    """Down to the phases, for the first harmonic and a high one; blocks as `Mixer.cut` makes them."""
    blocks, most = 6, 32767
    samples = worst(blocks * length)[name]
    need = (length * length - 1).bit_length()
    for harmonic in (1, 17):
        turn = 2048 * harmonic
        step = (((turn << 20) // length + 1) >> 1) & 0x3FFFFFFF
        down = max(0, need - max(0, 15 - most.bit_length()))
        sums, re, im, phases = [0] * 4 * blocks, [0] * blocks, [0] * blocks, [0] * blocks
        LOOPS["mix"](samples, [0, blocks, length, step, turn & 2047, down, 0], SINE, sums)
        largest = LOOPS["triangle"](sums, blocks, length, length * length >> 1, re, im)
        LOOPS["_cordic"](re, im, blocks - 1, 27 - largest.bit_length(), ATAN)
        assert max(im) < 2**30
        LOOPS["_unwrap"](re, blocks - 1, [0] * blocks, 1, phases)


def test_phases_that_run_away_as_fast_as_they_can() -> None:
    count = 104
    angles = [(i * 0x7FFFFFF) & 0xFFFFFFF for i in range(count)]
    first, phases, mean = [0] * count, [0] * count, [0] * count
    LOOPS["_unwrap"](angles, count, mean, 1, first)
    assert max(map(abs, first)) < 52 << 22
    LOOPS["_blend"](mean, [count, first[-1], 4, 1, 32768, 0], first)
    for harmonic in (2, 3, 17, 18, 35, 36):
        LOOPS["_unwrap"](angles, count, mean, harmonic, phases)
        assert max(map(abs, phases)) < 156 << 22
        for middle in (phases[0], phases[-1]):
            for share in (3, 16384, 32767, 32768):
                copy = mean[:]
                LOOPS["_blend"](copy, [count, middle, 4, harmonic, share, 0], phases)
        for track in (phases, mean):
            for third in (0, 1):
                largest = LOOPS["_bends"](track, 0, count, third, -1)
                LOOPS["_bends"](track, 0, count, third, max(0, largest.bit_length() - 12))


@pytest.mark.parametrize("least", [64, 2**13])
@pytest.mark.parametrize("harmonic", [2, 36, 127])
def test_second_look(harmonic: int, least: int) -> None:
    """All points as large as can be: together, against one another, and where their sum is next to nothing."""
    count = 104
    guide = [(-1) ** i * (2**31 - 1 - i * 0x7654321) % 2**31 - 2**30 for i in range(count)]
    for angle in (0, 0x7FFFFFF, 0x1234567):
        angles, magnitude = [i * angle & 0xFFFFFFF for i in range(count)], [2**30 - 1] * count
        sums, across = [0, 0], [0] * count
        LOOPS["turn_back"](angles, magnitude, count, guide, harmonic, SINE, sums)
        LOOPS["project"](angles, magnitude, [count, 0x8000000 - angle, least], SINE, across)
        assert max(map(abs, across)) == 32767 * 163 or least > 64
        for share in (3, 32768):
            LOOPS["_blend"]([2**30] * count, [count, 0, 4, harmonic, share, 1], across)
        largest = LOOPS["_bends"](across, 0, count, 0, -1)
        LOOPS["_bends"](across, 0, count, 0, max(0, largest.bit_length() - 12))


@pytest.mark.parametrize("turn", [0, 7, 4 * 256 * 94])
def test_tones_in_points_that_are_all_clipped(turn: int) -> None:
    """In three harmonics, each point's real and imaginary part as large as can be, and with the tone as they can."""
    count, tones, down = 95, 3, 12
    powers = [0] * tones
    for rest in (0, 256, 700):
        angles = [2 * math.pi * ((j / 94 - 0.5) * turn / 1024 + rest / 2048) for j in range(count)]
        parts = [[math.copysign(32767, part(angle)) for part in (math.cos, math.sin)] for angle in angles]
        points = [int(part[i]) for i in (0, 1) for part in parts]
        step = (turn << 20) // (count - 1) & 0x3FFFFFFF
        plan = [0, 2, count, step, 0, down, -turn & 2047, 0x3FFFFFFF, 2047]
        LOOPS["_scan"](powers, tones, plan, points, [0] * 8, SINE)
    assert max(powers) < 2**30
    assert turn or max(powers) > 2**29


def test_power_of_strong_harmonics() -> None:
    """Four, each as strong as a full-scale square wave's first: together more than any sound holds."""
    power = [0] * 104
    for _ in range(4):
        # 2^14 at the largest sample, times 4 / pi.
        LOOPS["_add_squares"]([2**30 - 1] * 104, 104, 20860, 15, power)
    assert max(power) > 2 * 2**28


def test_words_of_a_microphone() -> None:
    for words in ([0x7FFFFF00] * 256, [-0x80000000] * 256, [0x7FFFFF00, -0x80000000] * 128, [0] * 256):
        state, out = [0, 0, 0, 0], [0] * 256
        for offset in (-(2**29), 0, 2**29 - 64):
            state[0] = offset
            LOOPS["narrow"](words, 256, out, state)
            assert -12000 <= LOOPS["level"](state, 256) <= 10


@pytest.mark.parametrize("power", [0, 1, 7, 300, 10**6, 2**30, 2**37, 2**38 - 1])
def test_level_is_the_logarithm(power: int) -> None:
    level = LOOPS["level"]([0, power >> 20, power & 0xFFFFF, 0], 256)
    assert level == pytest.approx(1000 * math.log10(power / 2**38) if power else -12000, abs=4)


@pytest.mark.parametrize("hz", [35.0, 440.0, 3600.0])
@pytest.mark.parametrize("name", worst(1))
def test_zero_crossings(hz: float, name: str) -> None:
    theta = 2 * math.pi * hz / RATE
    alpha = math.sin(theta) / 8
    one = 1 << 13
    values = [alpha / (1 + alpha), -2 * math.cos(theta) / (1 + alpha), (1 - alpha) / (1 + alpha)]
    coefficients = [math.floor(one * value + 0.5) for value in values]
    for samples in (worst(3000)[name], square(RATE / hz, 3000)):
        LOOPS["crossings"](samples, [0, 3000, 500, 1, 160, 0, *coefficients, 0], [0] * 161)
