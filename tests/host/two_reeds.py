"""Sound of several reeds whose pitches are known, and its baseband as the meter makes it, without its rounding."""

import numpy as np
from reedbench.desk.audio import to_words, write_words
from reedbench.two import Baseband
from reedbench.two.baseband import mixed

RATE = 16000
CENTS = 1200 / np.log(2)


def sound(rng, hertz, levels_db, seconds, snr_db=30.0, slope_db=-8.0):
    """Reeds of these pitches and levels with falling harmonics and white noise, of power 1 without it."""
    t = np.arange(int(seconds * RATE)) / RATE
    total = np.zeros(len(t))
    for hz, level in zip(hertz, levels_db, strict=True):
        one = np.zeros(len(t))
        for k in range(1, int(7200 / hz) + 1):
            size = 10 ** ((slope_db * np.log2(k) + rng.normal(0, 3)) / 20)
            one += size * np.cos(2 * np.pi * k * hz * t + rng.uniform(0, 2 * np.pi))
        total += 10 ** (level / 20) * one / np.sqrt(np.mean(one**2))
    total /= np.sqrt(np.mean(total**2))
    return total + 10 ** (-snr_db / 20) * rng.standard_normal(len(t))


def recording(path, hertz, levels_db, seconds, seed=1):
    """A WAV of that sound between two quiet stretches, at `path`, which is returned."""
    rng = np.random.default_rng([seed, round(hertz[-1])])
    tone = 0.06 * sound(rng, hertz, levels_db, seconds)
    fade = np.minimum(1, np.arange(len(tone)) / 200)
    quiet = 1e-4 * rng.standard_normal((2, RATE // 3))
    write_words(path, to_words(np.concatenate((quiet[0], tone * fade * fade[::-1], quiet[1]))))
    return path


def baseband(samples, near_hz, harmonics=(1, 2, 3)) -> Baseband:
    """Blocks of whole turns, doubled until there are at most 96, but of no more than 12 turns."""
    least = int(40 * near_hz / RATE) + 1
    turns = min(range(least, least + 3), key=lambda n: abs(n * RATE / near_hz - round(n * RATE / near_hz)) / n)
    length = round(turns * RATE / near_hz)
    while len(samples) // length > 96 and turns <= 6:
        length, turns = 2 * length, 2 * turns
    return mixed(samples[: 96 * length], RATE, length, turns, [k for k in harmonics if k * near_hz < 7200])


def cents(hz, truth):
    return float(CENTS * np.log(hz / truth))
