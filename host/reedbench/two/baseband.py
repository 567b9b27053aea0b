"""What the meter keeps of a take in which two reeds sounded: a few harmonics, each mixed down to complex points.

The tone is cut into blocks of a whole number of the oscillator's turns. Each harmonic is multiplied by its oscillator
and summed over two neighbouring blocks under a triangle, one block on from point to point, as the meter does for its
own figure (firmware/meter/mixing.py). White noise of one point therefore correlates by a quarter with the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reedbench.firmware.wire import record

Real = NDArray[np.float64]
Complex = NDArray[np.complex128]

NEIGHBOURS = 0.25  # correlation of white noise between neighbouring points: triangles that overlap by half


@dataclass(frozen=True)
class Baseband:
    """`points[h, i]`: harmonic `harmonics[h]` at the i-th point, all in one unit. `oscillator_hz`: of the first
    harmonic; `step_s` from point to point."""

    oscillator_hz: float
    step_s: float
    harmonics: tuple[int, ...]
    points: Complex

    @property
    def count(self) -> int:
        """Points of each harmonic."""
        return int(self.points.shape[1])

    @property
    def span_s(self) -> float:
        """Length of the tone, from the middle of the first triangle to the middle of the last."""
        return (self.count - 1) * self.step_s

    @property
    def times_s(self) -> Real:
        """Middles of the points, from the middle of the span."""
        return np.asarray((np.arange(self.count) - (self.count - 1) / 2) * self.step_s, np.float64)


def gathered(
    rate_hz: float, length: int, turn: int, harmonics: Sequence[int], points: Sequence[Sequence[int]]
) -> Baseband:
    """The baseband of a take from the meter's own numbers: `points` of each harmonic, real and imaginary in turn."""
    count = min((len(one) // 2 for one in points), default=0)
    numbers = np.array([one[: 2 * count] for one in points], float).reshape(len(points), count, 2)
    oscillator_hz = turn * rate_hz / (record.BASEBAND_TURN * length)
    return Baseband(oscillator_hz, length / rate_hz, tuple(harmonics), numbers[..., 0] + 1j * numbers[..., 1])


def mixed(samples: Real, rate: float, length: int, turns: float, harmonics: Sequence[int]) -> Baseband:
    """The baseband of `samples`, as the meter makes it but without its rounding: blocks of `length` samples in which
    the oscillator turns `turns` times."""
    blocks = len(samples) // length
    cut = samples[: blocks * length]
    angles = 2 * np.pi * turns / length * np.arange(len(cut))
    rising, falling = np.arange(1, length + 1) / length**2, np.arange(length - 1, -1, -1) / length**2
    points = []
    for k in harmonics:
        turned = (cut * np.exp(-1j * k * angles)).reshape(blocks, length)
        points.append((turned @ rising)[:-1] + (turned @ falling)[1:])
    return Baseband(turns * rate / length, length / rate, tuple(harmonics), np.array(points))


def whitener(count: int) -> Real:
    """Matrix that makes the noise of `count` neighbouring points white, of the variance that one point has."""
    correlation = np.eye(count) + NEIGHBOURS * (np.eye(count, k=1) + np.eye(count, k=-1))
    return np.asarray(np.linalg.inv(np.linalg.cholesky(correlation)))
