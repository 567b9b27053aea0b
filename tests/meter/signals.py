"""Signals to measure, with what is known about them: tones with harmonics, noise, and what spoils them.

SNR is the power of the whole tone over white noise from 0 to 8 kHz.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE = 16000
CENTS = 1200 / np.log(2)
Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Tone:
    """`samples` as 16-bit counts; `hz`, the pitch in the middle; `bound_cents`, the Cramer-Rao bound."""

    samples: NDArray[np.int16]
    hz: float
    bound_cents: float


def harmonics(hz: float, rng: np.random.Generator, weak: bool = False) -> Samples:
    """Amplitudes falling by 3 to 12 dB an octave, 3 dB of ripple; `weak`: the second 10 to 15 dB over the first."""
    k = np.arange(1, max(1, int(7600 / hz)) + 1)
    amplitudes = 10 ** (-(rng.uniform(3, 12) * np.log2(k) + rng.uniform(-3, 3, len(k)) * (k > 1)) / 20)
    if weak and len(k) > 1:
        amplitudes[0] = amplitudes[1] * 10 ** (-rng.uniform(10, 15) / 20)
    return amplitudes


def tone(
    hz: float,
    seconds: float,
    snr_db: float,
    rng: np.random.Generator,
    *,
    weak: bool = False,
    cents: Samples | None = None,
    beside: Samples | None = None,
    level: float = 0.4,
) -> Tone:
    """A tone with random phases. cents: deviation from `hz` at each sample. beside: added, tone power = 1."""
    count = int(seconds * RATE)
    amplitudes = harmonics(hz, rng, weak)
    amplitudes /= np.sqrt(np.sum(amplitudes**2) / 2)
    track = hz * np.ones(count) if cents is None else hz * 2 ** (cents / 1200)
    phase = 2 * np.pi * np.concatenate(([0.0], np.cumsum((track[1:] + track[:-1]) / 2))) / RATE
    sound = sum(a * np.cos((k + 1) * phase + rng.uniform(0, 2 * np.pi)) for k, a in enumerate(amplitudes))
    noise = 10 ** (-snr_db / 20)
    sound = sound + noise * rng.standard_normal(count) + (0 if beside is None else beside)
    scale = level * 32767 / np.max(np.abs(sound))
    power = np.sum((np.arange(1, len(amplitudes) + 1) * amplitudes) ** 2)
    # Kay, Fundamentals of Statistical Signal Processing I, example 3.14, for harmonics: var(omega) =
    # 24 sigma^2 / (N (N^2 - 1) sum k^2 A_k^2); from memory, and met by a least-squares fit.
    deviation = np.sqrt(24 * noise**2 / (count * (count**2 - 1.0) * power))
    bound = CENTS * deviation * RATE / (2 * np.pi * hz)
    return Tone(np.round(sound * scale).astype(np.int16), hz, float(bound))


def reed_hz(rng: np.random.Generator, low: float = 80, high: float = 3200) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))
