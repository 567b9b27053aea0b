"""Recordings of one sounding each, spoilt in one way each: what a reed, a room, a breath and a microphone do."""

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np
from signals import RATE, Samples, off_target, pink, reed_hz, tone

BEFORE_S, AFTER_S = 0.3, 0.6  # quiet around the sounding
ROOM_DB = -40  # the room's white noise, from the tone


@dataclass
class Case:
    """`sound`, full scale = 1; `hz` at each sample; what a survey expects; [place, samples lost] of gaps."""

    sound: Samples
    hz: Samples
    expected: float
    gaps: list[list[int]] = field(default_factory=list)


@dataclass
class Sounding:
    """One breath before it is spoilt: reed, length, and what is done to it."""

    hz: float
    seconds: float
    cents: Samples
    envelope: Samples
    beside: Samples  # over the whole recording, tone power = 1
    level: float = 0.3
    bits: int = 24
    expected: float = 0.0
    gap: int = 0

    @property
    def t(self) -> Samples:
        return np.arange(len(self.cents)) / RATE


Spoil = Callable[[Sounding, np.random.Generator], None]


def _clean(s: Sounding, rng: np.random.Generator) -> None:
    """Nothing."""


def _flat_start(s: Sounding, rng: np.random.Generator) -> None:
    """As on recordings of reeds: 10 to 50 cents flat at onset, time constant 9 to 16 periods."""
    s.cents -= rng.uniform(10, 50) * np.exp(-s.t * s.hz / rng.uniform(9, 16))


def _drift(s: Sounding, rng: np.random.Generator) -> None:
    """Two cents a second, up or down."""
    s.cents += rng.choice([-2.0, 2.0]) * s.t


def _tremor(s: Sounding, rng: np.random.Generator) -> None:
    """Half a cent and a tenth of the level, four to six times a second."""
    wave = np.sin(2 * np.pi * rng.uniform(4, 6) * s.t + rng.uniform(0, 2 * np.pi))
    s.cents += 0.5 * wave
    s.envelope *= 1 + 0.1 * wave


def _sway(s: Sounding, rng: np.random.Generator) -> None:
    """Bellows: 1.5 dB and 1.5 cents, once in two to three seconds."""
    wave = np.sin(2 * np.pi * rng.uniform(0.35, 0.58) * s.t + rng.uniform(0, 2 * np.pi))
    s.cents -= 1.5 * wave
    s.envelope *= 10 ** (1.5 * wave / 20)


def _hum(s: Sounding, rng: np.random.Generator) -> None:
    """Mains at 50, 100 and 150 Hz, 40, 50 and 50 dB below the tone."""
    t = np.arange(len(s.beside)) / RATE
    for hz, db in ((50, -40), (100, -50), (150, -50)):
        s.beside += np.sqrt(2) * 10 ** (db / 20) * np.cos(2 * np.pi * hz * t + rng.uniform(0, 2 * np.pi))


def _pink(s: Sounding, rng: np.random.Generator) -> None:
    """Pink room noise 20 to 30 dB below the tone."""
    s.beside += 10 ** (-rng.uniform(20, 30) / 20) * pink(len(s.beside), rng)


def _speech(s: Sounding, rng: np.random.Generator) -> None:
    """A voice 30 dB below the tone: syllables of a gliding pitch under three moving formants."""
    t = np.arange(len(s.beside)) / RATE
    knots = np.arange(0, t[-1] + 0.4, 0.2)
    hz = np.interp(t, knots, rng.uniform(90, 220, len(knots)))
    formants = [np.interp(t, knots, rng.uniform(*span, len(knots))) for span in ((300, 800), (900, 2200), (2300, 3000))]
    voice = np.zeros(len(t))
    phase = 2 * np.pi * np.cumsum(hz) / RATE
    for k in range(1, 40):
        strength = sum(1 / (1 + ((k * hz - formant) / 80) ** 2) for formant in formants) / np.sqrt(k)
        voice += strength * (k * hz < 7000) * np.cos(k * phase)
    voice *= np.interp(t, knots, rng.uniform(0, 1, len(knots)) ** 2)
    s.beside += 10 ** (-30 / 20) * voice / np.std(voice)


def _leak(s: Sounding, rng: np.random.Generator) -> None:
    """The reed a semitone away, 30 dB below."""
    near = s.hz * 2 ** (rng.choice([-1, 1]) / 12)
    other = tone(near, len(s.beside) / RATE + 1e-6, 60, rng).samples[: len(s.beside)].astype(float)
    s.beside += 10 ** (-30 / 20) * other / np.std(other)


def _clipping(s: Sounding, rng: np.random.Generator) -> None:
    """Overdriven by 2 to 6 dB."""
    s.level = 10 ** (rng.uniform(2, 6) / 20)


def _eight_bits(s: Sounding, rng: np.random.Generator) -> None:
    """So soft that eight bits are left of the meter's sixteen."""
    s.level, s.bits = 127 / 32768, 16


def _dropped_block(s: Sounding, rng: np.random.Generator) -> None:
    """One block of samples lost somewhere in the middle."""
    s.gap = int(rng.uniform(0.2, 0.8) * len(s.cents))


def _pulled(s: Sounding, rng: np.random.Generator) -> None:
    """Breath pulled down by 20 cents in the middle, for 0.2 to 0.5 s."""
    width = rng.uniform(0.2, 0.5)
    middle = s.seconds * rng.uniform(0.35, 0.5)
    inside = np.abs(s.t - middle) < width / 2
    s.cents -= 20 * inside * np.cos(np.pi * (s.t - middle) / width) ** 2


def _short_dip(s: Sounding, rng: np.random.Generator) -> None:
    """The same for 0.06 to 0.2 s, well inside the take."""
    width = rng.uniform(0.06, 0.2)
    inside = (s.t - rng.uniform(0.35, 0.6) - max(0.0, s.seconds - 1.6)) / width
    s.cents -= 20 * (np.abs(inside) < 0.5) * np.cos(np.pi * inside) ** 2


def _octave(s: Sounding, rng: np.random.Generator) -> None:
    """The expected reed is an octave below or above."""
    s.expected *= rng.choice([0.5, 2.0])


def _twelfth(s: Sounding, rng: np.random.Generator) -> None:
    """The expected reed is a twelfth below or above."""
    s.expected *= rng.choice([1 / 3, 3.0])


SURVIVED: dict[str, Spoil] = {
    "clean": _clean,
    "flat start": _flat_start,
    "drift": _drift,
    "tremor": _tremor,
    "bellows sway": _sway,
    "mains hum": _hum,
    "pink noise": _pink,
    "speech": _speech,
    "leaking reed": _leak,
    "clipping": _clipping,
    "eight bits": _eight_bits,
    "dropped block": _dropped_block,
    "octave off": _octave,
    "twelfth off": _twelfth,
}
REFUSED: dict[str, Spoil] = {"pulled breath": _pulled, "short dip": _short_dip}
ALL = SURVIVED | REFUSED


def case(name: str, rng: np.random.Generator) -> Case:
    """One recording spoilt in the way of this name."""
    hz = reed_hz(rng, 80, 3000)
    seconds = 1.6 if hz > 250 else 2.4
    count, before, after = (int(part * RATE) for part in (seconds, BEFORE_S, AFTER_S))
    t = np.arange(count) / RATE
    rise = (1 - np.exp(-t / 0.015)) * np.minimum(1, (seconds - t) / 0.01)
    s = Sounding(hz, seconds, np.zeros(count), rise, np.zeros(before + count + after), expected=off_target(hz, rng))
    ALL[name](s, rng)
    pure = tone(hz, seconds + 1e-6, 200, rng, weak=bool(rng.integers(2)), cents=s.cents)
    sound = np.zeros(len(s.beside))
    sound[before : before + count] = pure.samples / np.std(pure.samples.astype(float)) * s.envelope
    sound += s.beside + 10 ** (ROOM_DB / 20) * rng.standard_normal(len(sound))
    sound *= s.level / np.max(np.abs(sound))
    if s.bits < 24:
        sound = np.round(sound * 2 ** (s.bits - 1)) / 2 ** (s.bits - 1)
    track = np.full(len(sound), hz)
    if name not in REFUSED:  # a pulled breath is to be compared with what it was pulled from
        track[before : before + count] = hz * 2 ** (s.cents / 1200)
    gaps = []
    if s.gap:
        at = before + s.gap
        sound, track = np.delete(sound, slice(at, at + 256)), np.delete(track, slice(at, at + 256))
        gaps = [[at, 256]]
    return Case(np.clip(sound, -1, 1 - 2**-23), track, s.expected, gaps)
