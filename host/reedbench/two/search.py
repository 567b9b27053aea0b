"""Where reeds may lie in the baseband of a take: starts for the fit, from a grid.

Of any two places on the grid the power that two tones there explain in all harmonics is known at once from what one
tone explains at each, and from how much two such tones have in common (Dirichlet's kernel).
"""

import numpy as np

from reedbench.two.baseband import Baseband, Complex, Real
from reedbench.two.fit import ONE, PAIR, THREE, Kind

WIDE_CENTS = 45.0  # reeds are looked for so far from the oscillator, at most: an upper octave's harmonics repeat
THIRD_CENTS = 75.0  # and a third one: of three, 30 cents from reed to reed, the oscillator may stand at an outer one
FINE = 6.0  # places of the grid in 1/span at the highest harmonic, over two
NEAREST = 0.3  # two reeds on the grid differ at least by this in beat times span
STARTS = 4


class Grid:
    """The grid of one take."""

    def __init__(self, take: Baseband) -> None:
        self._take = take
        self.places = self._within(WIDE_CENTS, 0.25)
        self._found = [
            self._tones(k, self.places).conj().T @ points for k, points in zip(take.harmonics, take.points, strict=True)
        ]
        apart = self.places[:, None] - self.places
        self._common = [_dirichlet(k * apart * take.step_s, take.count) for k in take.harmonics]
        self._apart = np.abs(apart) * take.span_s

    def _within(self, cents: float, turns: float) -> Real:
        """Places up to so many cents from the oscillator, and up to so many turns from point to point."""
        take = self._take
        step = 1 / (FINE * take.span_s)
        most = np.floor(min(take.oscillator_hz * (2 ** (cents / 1200) - 1), turns / take.step_s) / step)
        return np.asarray(np.arange(-most, most + 1) * step, np.float64)

    def _tones(self, harmonic: int, places: Real) -> Complex:
        return np.asarray(np.exp(2j * np.pi * harmonic * np.outer(self._take.times_s, places)), np.complex128)

    def starts(self, kind: Kind) -> list[list[float]]:
        """Offsets in hertz to begin from, the likeliest first."""
        if kind == ONE:
            return [[float(self.places[np.argmax(np.sum([np.abs(f) ** 2 for f in self._found], axis=0))])]]
        if kind == THREE:
            return [self._third(pair) for pair in self.starts(PAIR)]
        return self._pairs(kind)

    def _pairs(self, kind: Kind) -> list[list[float]]:
        explained = np.sum([self._explained(kind, h) for h in range(len(self._found))], axis=0)
        if kind == PAIR:
            explained = np.where((self._apart >= NEAREST) & np.tri(len(self.places), k=-1, dtype=bool), explained, 0.0)
        found = []
        for _ in range(STARTS):
            low, high = np.unravel_index(np.argmax(explained), explained.shape)
            found.append([float(self.places[low]), float(self.places[high])])
            near = self._apart[low] < 0.5
            explained = np.where(near[:, None] & (self._apart[high] < 0.5)[None, :], 0.0, explained)
        return found

    def _explained(self, kind: Kind, h: int) -> Real:
        """Power that reeds at two places explain in one harmonic: first reed by row, second by column."""
        count = self._take.count
        power = np.abs(self._found[h]) ** 2
        if len(kind.sounds(self._take.harmonics[h])) == 1:
            return np.asarray(np.broadcast_to(power[:, None] / count, self._apart.shape))
        common = self._common[h]
        mixed = 2 * common * np.real(np.conj(self._found[h])[:, None] * self._found[h])
        left = np.maximum(count**2 - common**2, 1e-3 * count**2)
        return np.asarray((count * (power[:, None] + power) - mixed) / left)

    def _third(self, pair: list[float]) -> list[float]:
        """A third place that explains most of what those two leave."""
        places = self._within(THIRD_CENTS, 0.5)
        gain = np.zeros(len(places))
        times = self._take.times_s
        for h, k in enumerate(self._take.harmonics):
            base: Complex = np.linalg.qr(self._tones(k, np.array(pair)))[0]
            left = self._take.points[h] - base @ (base.conj().T @ self._take.points[h])
            tones = self._tones(k, places)
            free = tones - base @ (base.conj().T @ tones)
            gain += np.abs(free.conj().T @ left) ** 2 / np.maximum(np.sum(np.abs(free) ** 2, axis=0), 1e-3 * len(times))
        near = np.min(np.abs(places[:, None] - np.array(pair)), axis=1) * self._take.span_s < NEAREST
        return [*pair, float(places[np.argmax(np.where(near, 0.0, gain))])]


def _dirichlet(turns: Real, count: int) -> Real:
    """Sum of exp(2 pi i n turns) over the `count` places n, one apart, whose middle is 0."""
    below = np.sin(np.pi * turns)
    whole = np.abs(below) < 1e-9
    sign = np.where(np.round(turns) * (count - 1) % 2, -1.0, 1.0)
    return np.asarray(np.where(whole, sign * count, np.sin(np.pi * turns * count) / np.where(whole, 1.0, below)))
