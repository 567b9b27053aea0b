"""Signals to measure, with what is known about them: tones with harmonics, noise, and what spoils them.

SNR is the power of the whole tone over white noise from 0 to 8 kHz.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

RATE = 16000
CENTS = 1200 / np.log(2)
Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Tone:
    """`samples` as 16-bit counts; `hz`, the pitch in the middle; amplitudes and noise for the bound, tone power = 1."""

    samples: NDArray[np.int16]
    hz: float
    amplitudes: Samples = field(default_factory=lambda: np.ones(1))
    noise: float = 1.0

    def information(self, harmonics: Iterable[int] | None = None) -> float:
        """Sum of (k A_k)^2 over these harmonics, or all: what they tell of the pitch."""
        k = np.arange(1, len(self.amplitudes) + 1)
        chosen = np.isin(k, list(harmonics)) if harmonics is not None else k > 0
        return float(np.sum((k * self.amplitudes)[chosen] ** 2))

    def bound_cents(self, harmonics: Iterable[int] | None = None) -> float:
        """The Cramer-Rao bound of the pitch, in cents, from these harmonics or all."""
        # Kay, Fundamentals of Statistical Signal Processing I, example 3.14, for harmonics: var(omega) =
        # 24 sigma^2 / (N (N^2 - 1) sum k^2 A_k^2); from memory, and met by a least-squares fit.
        count = len(self.samples)
        variance = 24 * self.noise**2 / (count * (count**2 - 1.0) * self.information(harmonics))
        return float(CENTS * np.sqrt(variance) * RATE / (2 * np.pi * self.hz))


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
    envelope: Samples | None = None,
    beside: Samples | None = None,
    level: float = 0.4,
) -> Tone:
    """A tone with random phases. cents: deviation from `hz` at each sample. beside: added, tone power = 1.

    level: of the largest sample, full scale = 1; above 1 the tone is clipped.
    """
    count = int(seconds * RATE)
    amplitudes = harmonics(hz, rng, weak)
    amplitudes /= np.sqrt(np.sum(amplitudes**2) / 2)
    track = hz * np.ones(count) if cents is None else hz * 2 ** (cents / 1200)
    phase = 2 * np.pi * np.concatenate(([0.0], np.cumsum((track[1:] + track[:-1]) / 2))) / RATE
    sound = sum(a * np.cos((k + 1) * phase + rng.uniform(0, 2 * np.pi)) for k, a in enumerate(amplitudes))
    noise = 10 ** (-snr_db / 20)
    sound = sound * (1 if envelope is None else envelope) + (0 if beside is None else beside)
    sound = sound + noise * rng.standard_normal(count)
    sound = sound * level * 32767 / np.max(np.abs(sound))
    return Tone(np.clip(np.round(sound), -32767, 32767).astype(np.int16), hz, amplitudes, noise)


def reed_hz(rng: np.random.Generator, low: float = 80, high: float = 3200) -> float:
    return float(np.exp(rng.uniform(np.log(low), np.log(high))))


def off_target(hz: float, rng: np.random.Generator) -> float:
    """The pitch a survey would expect of a reed that is up to a semitone out."""
    return float(hz * 2 ** (rng.uniform(-100, 100) / 1200))


def pink(count: int, rng: np.random.Generator) -> Samples:
    """Pink noise above 20 Hz, power 1."""
    white = np.fft.rfft(rng.standard_normal(count))
    hz = np.fft.rfftfreq(count, 1 / RATE)
    noise = np.fft.irfft(white / np.sqrt(np.maximum(hz, 20)) * (hz >= 20), count)
    return noise / np.std(noise)
