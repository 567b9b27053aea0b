"""How loud a reed is at the meter's microphone, what else arrives there, and what the microphone makes of it.

Pressures are RMS in dB SPL, and 1.0 is what the microphone calls full scale. hardware/microphone.md says where the
figures come from; those of the microphone are its data sheet's (INMP441, DS-INMP441-00 rev. 1.1, table 1).
"""

from dataclasses import dataclass
from pathlib import Path

import numpy as np
from scipy.signal import lfilter

from reedbench.desk import reeds
from reedbench.desk.audio import RATE
from reedbench.desk.players import ReedPlayer
from reedbench.desk.scenario import Scenario

FULL_SCALE_DB = 120.0  # of a sine that just reaches it
SELF_NOISE_DB = 33.0  # weighted by A; taken as so much white noise up to half the rate, which is 0.3 dB too much
LOW_HZ = 60.0  # where it has lost 3 dB
DISTORTION = 2 * 0.03 / 10 ** ((105 - FULL_SCALE_DB) / 20)  # share of the square that makes 3 % at 105 dB SPL
REED_CM = 10.0  # from the reed, where `reed_db` is meant
# The stream of a blown note: round, out of the mouth's or a cover's opening, slowing as round jets do.
OPENING_M, BREATH_M_S, SLOWING, TURBULENCE = 0.006, 8.0, 6.2, 0.25
HALF_WIDTH = 0.125  # of the stream, per distance: where it has half the speed of its middle
AIR_KG_M3 = 1.2
WIND_DB_PER_DECADE = 23.0  # above the frequency of the largest eddies
FOAM_DB = 15.0  # that a thin disc of foam takes off the wind, and off nothing else
HUM_DB = ((50.0, 0.0), (100.0, -3.0), (150.0, -10.0), (200.0, -10.0), (300.0, -20.0))  # of a motor, per line


@dataclass(frozen=True)
class Around:
    """One place of the meter. reed_db: the tone, 10 cm from the reed. room_db: noise of the room. aside_cm: how far the
    meter stands from the middle of the breath, None where none comes its way. hum_db: of a bench with a motor."""

    reed_db: float = 94.0
    distance_cm: float = 15.0
    room_db: float = 45.0
    aside_cm: float | None = None
    foam: bool = False
    hum_db: float | None = None

    @property
    def tone_dbfs(self) -> float:
        """Level of the tone as the firmware counts: a full-scale square wave is 0."""
        return float(self.reed_db - 20 * np.log10(self.distance_cm / REED_CM) - FULL_SCALE_DB - 10 * np.log10(2))

    @property
    def wind_m_s(self) -> float:
        """Speed of the air at the microphone."""
        if self.aside_cm is None:
            return 0.0
        middle = min(BREATH_M_S, BREATH_M_S * SLOWING * OPENING_M / (self.distance_cm / 100))
        return float(middle * 0.5 ** ((self.aside_cm / (HALF_WIDTH * self.distance_cm)) ** 2))

    @property
    def wind_db(self) -> float:
        """Level of what the stream's eddies press upon the microphone."""
        pascal = TURBULENCE * AIR_KG_M3 * self.wind_m_s**2
        return float(20 * np.log10(max(pascal, 1e-9) / 20e-6)) - FOAM_DB * self.foam

    def room(self, count: int, rng: np.random.Generator) -> reeds.Samples:
        """What is always there: the room, the bench, and the microphone's own noise."""
        sound = _rms(self.room_db) * reeds.pink(count, RATE, rng) + _rms(SELF_NOISE_DB) * rng.standard_normal(count)
        if self.hum_db is not None:
            t = np.arange(count) / RATE
            total = np.sqrt(sum(10 ** (db / 10) for _, db in HUM_DB))
            for hz, db in HUM_DB:
                line = np.sqrt(2) * np.cos(2 * np.pi * hz * t + rng.uniform(0, 2 * np.pi))
                sound += _rms(self.hum_db) * 10 ** (db / 20) / total * line
        return sound

    def wind(self, count: int, rng: np.random.Generator) -> reeds.Samples:
        """Eddies, the largest as wide as the stream; the smaller they are the less they press."""
        if self.wind_m_s < 0.01:
            return np.zeros(count)
        largest_hz = self.wind_m_s / (2 * HALF_WIDTH * self.distance_cm / 100)
        frequency = np.fft.rfftfreq(count, 1 / RATE)
        gain = np.maximum(1.0, frequency / largest_hz) ** (-WIND_DB_PER_DECADE / 20)
        noise = np.fft.irfft(np.fft.rfft(rng.standard_normal(count)) * gain, count)
        return np.asarray(noise / np.sqrt(np.mean(noise**2)) * _rms(self.wind_db))


def caught(pressure: reeds.Samples) -> reeds.Samples:
    """What the microphone makes of a pressure: no deep tones, some distortion, and nothing beyond full scale."""
    pole = np.exp(-2 * np.pi * LOW_HZ / RATE)
    passed = lfilter([(1 + pole) / 2, -(1 + pole) / 2], [1, -pole], pressure)
    bent = passed + DISTORTION * passed**2
    return np.asarray(np.clip(bent, -1.0, 1.0))


def _rms(db: float) -> float:
    return float(10 ** ((db - FULL_SCALE_DB) / 20) / np.sqrt(2))


AROUND = {
    "usual": Around(),
    "soft": Around(reed_db=79),
    "loud": Around(reed_db=109),
    "loud-near": Around(reed_db=109, distance_cm=10),
    "loud-touching": Around(reed_db=109, distance_cm=5),
    "workshop": Around(room_db=70),
    "far": Around(distance_cm=50, room_db=55),
    "in-breath": Around(distance_cm=10, aside_cm=0),
    "in-breath-foam": Around(distance_cm=10, aside_cm=0, foam=True),
    "in-breath-far": Around(distance_cm=20, aside_cm=0),
    "in-breath-soft": Around(reed_db=84, distance_cm=10, aside_cm=0),
    "beside-breath": Around(distance_cm=10, aside_cm=4),
    "motor": Around(hum_db=75),
}


class PlacedPlayer(ReedPlayer):
    """Sounds an instrument with hidden errors in front of a meter that stands `around`."""

    def __init__(self, scenario: Scenario, around: Around, keep: Path | None = None) -> None:
        super().__init__(scenario, keep)
        self._around = around
        self.level_dbfs = around.tone_dbfs

    @classmethod
    def instead_of(cls, player: ReedPlayer, around: Around) -> "PlacedPlayer":
        """One that sounds the same instrument."""
        return cls(player._scenario, around)

    def room(self, count: int) -> reeds.Samples:
        return self._around.room(count, self._room)

    def heard(self, pressure: reeds.Samples, blown: slice, rng: np.random.Generator) -> reeds.Samples:
        blowing = pressure.copy()
        blowing[blown] += self._around.wind(len(pressure[blown]), rng)
        return caught(blowing)
