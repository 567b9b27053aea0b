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
    """The rules of meter/baseband.py: 96 blocks become 48 of twice the length, up to 12 turns, or more of a slow tone;
    where they may not, there are enough."""
    period = RATE / near_hz
    least = int(40 / period) + 1
    turns = min(range(least, least + 3), key=lambda n: abs(n * period - round(n * period)) / n)
    length = round(turns * period)
    kept = [k for k in harmonics if k * near_hz < 7200]
    while True:
        band = mixed(samples[: 96 * length], RATE, length, length / period, kept)
        if len(samples) < 96 * length or (2 * length / period > 13 and not slow(band)):
            return band
        length *= 2


def slow(band):
    """Whether points of all harmonics change by less than an eighth from one to the next."""
    steps, sizes = ([np.abs(p.real) + np.abs(p.imag) for p in part] for part in (np.diff(band.points), band.points))
    return all(8 * step.sum() <= size.sum() for step, size in zip(steps, sizes, strict=True))


def cents(hz, truth):
    return float(CENTS * np.log(hz / truth))
