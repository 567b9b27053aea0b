"""Synthesised reeds that behave like recorded ones: spectrum, flat start, sway, breath noise.

The shapes are those measured on recordings of harmonica, accordion and harmonium reeds: partials are exact
multiples (the tone is periodic); the pitch starts 40 to 70 cents flat and settles with a time constant of 9 to
16 periods; level and pitch sway together at bellows or breath rate, the pitch falling as the level rises.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]

TOP_HZ = 7600.0  # partials above are not made: the microphone would not pass them either
# Partials 1 to 7 of a harmonica reed in decibels, then a fall of 5.3 dB per octave.
PARTIALS_DB = (0.0, -6.0, -6.0, -16.0, -13.0, -14.0, -15.0)
SLOPE_DB_PER_OCTAVE = -5.3


@dataclass(frozen=True)
class Voice:
    """What stays the same between soundings of one reed: its partials (amplitudes, 1 for the sum of squares) and
    the periods its pitch takes to settle."""

    amplitudes: tuple[float, ...]
    settle_periods: float

    @classmethod
    def draw(cls, hz: float, rng: np.random.Generator) -> "Voice":
        """A voice for a reed of this pitch, its partials up to 3 dB off the common shape."""
        count = max(1, int(TOP_HZ / hz))
        level = [
            PARTIALS_DB[k] if k < len(PARTIALS_DB) else PARTIALS_DB[-1] + SLOPE_DB_PER_OCTAVE * np.log2((k + 1) / 7)
            for k in range(count)
        ]
        amplitudes = 10 ** ((np.array(level) + rng.uniform(-3, 3, count)) / 20)
        amplitudes /= np.sqrt(np.sum(amplitudes**2))
        return cls(tuple(float(a) for a in amplitudes), float(rng.uniform(9, 16)))


@dataclass(frozen=True)
class Breath:
    """What differs from sounding to sounding. Cents and decibels are around the reed's own pitch and level.

    bend: (time in seconds, cents) points of a deliberate or clumsy bend, straight lines between; empty for none.
    """

    tone_s: float
    level_dbfs: float  # RMS of the tone, full-scale square wave = 0
    scatter_cents: float = 0.0
    sway_cents: float = 0.3
    sway_hz: float = 0.45
    sway_phase: float = 0.0
    wander_cents: float = 0.0  # a reed that will not settle
    wander_hz: float = 1.7
    bend: tuple[tuple[float, float], ...] = field(default=())


def sound(hz: float, voice: Voice, breath: Breath, rate: float, rng: np.random.Generator) -> tuple[Samples, Samples]:
    """(samples, pitch in hertz at each sample) of one sounding, full scale 1, its release included.

    `hz` is the reed's steady pitch; the pitch track holds everything that the breath did to it.
    """
    release = 0.12
    count = int((breath.tone_s + release) * rate)
    t = np.arange(count) / rate
    cents = np.full(count, breath.scatter_cents)
    sway = np.sin(2 * np.pi * breath.sway_hz * t + breath.sway_phase)
    cents -= breath.sway_cents * sway
    cents -= rng.uniform(40, 70) * np.exp(-t * hz / voice.settle_periods)
    if breath.wander_cents:
        cents += breath.wander_cents * np.sin(2 * np.pi * breath.wander_hz * t + rng.uniform(0, 2 * np.pi))
    if breath.bend:
        cents += np.interp(t, [point[0] for point in breath.bend], [point[1] for point in breath.bend])
    track = hz * 2 ** (cents / 1200)
    envelope = (1 - np.exp(-t / 0.014)) * 10 ** (0.8 * sway / 20)
    envelope *= 1 / (1 + np.exp((t - breath.tone_s - 0.02) / 0.008))
    phase = 2 * np.pi * np.concatenate(([0.0], np.cumsum((track[1:] + track[:-1]) / 2))) / rate
    tone = np.zeros(count)
    for k, amplitude in enumerate(voice.amplitudes, start=1):
        tone += amplitude * np.sqrt(2) * np.cos(k * phase + rng.uniform(0, 2 * np.pi))
    noise = pink(count, rate, rng) * 10 ** (-41 / 20)  # breath, as far below the tone as on recordings
    return (tone + noise) * envelope * 10 ** (breath.level_dbfs / 20), track


def pink(count: int, rate: float, rng: np.random.Generator) -> Samples:
    """Pink noise from 20 Hz up, RMS 1."""
    size = 1 << max(12, int(np.ceil(np.log2(count))))
    frequency = np.fft.rfftfreq(size, 1 / rate)
    spectrum = rng.standard_normal(len(frequency)) + 1j * rng.standard_normal(len(frequency))
    gain = np.where(frequency >= 20, 1 / np.sqrt(np.maximum(frequency, 1.0)), 0.0)
    noise = np.fft.irfft(spectrum * gain, size)[:count]
    return np.asarray(noise / np.sqrt(np.mean(noise**2)))


def cough(rate: int, rng: np.random.Generator) -> Samples:
    """A cough beside the microphone: two bursts of shaped noise, without a period."""
    bursts = []
    for seconds, level in ((0.16, 0.12), (0.22, 0.07)):
        count = int(seconds * rate)
        t = np.arange(count) / rate
        burst = rng.standard_normal(count)
        burst = np.convolve(burst, np.hanning(9) / np.hanning(9).sum(), "same")
        bursts += [burst * level * np.exp(-t / 0.05) * (1 - np.exp(-t / 0.004)), np.zeros(int(0.05 * rate))]
    return np.concatenate(bursts)
