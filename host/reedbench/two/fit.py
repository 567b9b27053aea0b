"""Least squares of two or three reeds in the baseband of a take.

Harmonic k of reed r is a tone k times as far from its oscillator as the reed is from the first one's: so a few numbers,
the reeds' pitches, explain all harmonics, and slow beats are told by high harmonics, in which they are fast. The
breath moves pitch and level of all reeds together; a few smooth curves stand for that, held to what breaths are known
to do. Amplitudes follow from the rest by linear least squares in each harmonic (variable projection: Golub and
Pereyra, SIAM J. Numer. Anal. 10(2), 1973, 413); the pitches and curves by Gauss and Newton's steps.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.polynomial import legendre

from reedbench.two.baseband import Baseband, Complex, Real, whitener

# What a steady breath does: bellows and players sway at up to a hertz, by tenths of a cent and of a decibel.
SWAY_HZ = 1.0
SWAY = 2e-4  # of the pitch, 0.35 cent
SWELL = 0.15  # nepers
UNSEEN = 1e-5  # of the power: -50 dB, what blocks let through of other harmonics is no reed
ROUNDS = 4
STEPS = 15
SETTLED = 1e-7  # relative change of the misfit at which the steps end


@dataclass(frozen=True)
class Kind:
    """Which reeds there are. `octaves[r]`: 1 for one whose harmonic k is the take's own, 2 for one an octave above,
    which sounds in every second harmonic only."""

    name: str
    octaves: tuple[int, ...]

    def sounds(self, harmonic: int) -> list[int]:
        """The reeds that have a part in this harmonic of the take."""
        return [r for r, octave in enumerate(self.octaves) if harmonic % octave == 0]


ONE = Kind("one", (1,))
PAIR = Kind("pair", (1, 1))
OCTAVE = Kind("octave", (1, 2))
THREE = Kind("three", (1, 1, 1))


@dataclass(frozen=True)
class Fit:
    """Reeds fitted to a take. `offsets_hz[r]`: of reed r from the oscillator, at the first harmonic (half of an upper
    octave's own); `covariance`: theirs, Hz^2. `powers[r]`: mean square of its part in all harmonics kept, `odd[r]` in
    the odd ones.

    `misfit`: sum over the harmonics of points times the logarithm of what is left, for comparing kinds; `left`: mean
    square of what is left; `free`: numbers measured less numbers fitted.
    """

    kind: Kind
    offsets_hz: Real
    covariance: Real
    powers: Real
    odd: Real
    misfit: float
    left: float
    free: int


class Fitter:
    """Fits kinds of reeds to one take."""

    def __init__(self, take: Baseband) -> None:
        self.take = take
        self._k = np.array(take.harmonics, float)
        self._white = whitener(take.count)
        self._seen = take.points @ self._white.T
        x = np.linspace(-1, 1, take.count)
        last = 2 + int(np.ceil(2 * SWAY_HZ * take.span_s))
        bends, swells = range(2, last + 1), range(1, last + 1)
        basis = [legendre.legval(x, np.eye(last + 1)[j]) for j in range(last + 1)]
        self._bends = np.array([basis[j] for j in bends])
        self._swells = np.array([basis[j] for j in swells])
        turn = 2 * np.pi * take.oscillator_hz * SWAY * take.span_s
        self._bend_most = np.array([turn / j**2 for j in bends])
        self._swell_most = np.array([SWELL / j for j in swells])

    def fit(self, kind: Kind, starts: Sequence[Sequence[float]]) -> Fit:
        """The best fit of `kind` from any of these starts (offsets in hertz).

        What noise there is, is known only as the fit gets better: as long as it is poor the breath is held tight.
        """
        curves = np.zeros(len(self._bends) + len(self._swells))
        places = [self._better(kind, np.concatenate((np.array(start, float), curves))) for start in starts]
        place = min(places, key=lambda one: self._misfit(self._left(kind, one)[0]))
        for _ in range(ROUNDS - 1):
            place = self._better(kind, place)
        return self._fit(kind, place)

    def _better(self, kind: Kind, place: Real) -> Real:
        return self._settle(kind, place, self._noise(kind, place))

    def _parts(self, kind: Kind, place: Real) -> tuple[list[Complex], list[Complex]]:
        """For each harmonic (unwhitened tones one in a column, whitened)."""
        reeds = len(kind.octaves)
        bends = place[reeds : reeds + len(self._bends)] @ self._bends
        swells = place[reeds + len(self._bends) :] @ self._swells
        plain, white = [], []
        for k in self.take.harmonics:
            angles = 2 * np.pi * np.outer(self.take.times_s, place[kind.sounds(k)]) + bends[:, None]
            tones = np.exp(1j * k * angles + swells[:, None])
            plain.append(tones)
            white.append(self._white @ tones)
        return plain, white

    def _settle(self, kind: Kind, place: Real, noise: Real) -> Real:
        """The place of least misfit that steps lead to, by Levenberg and Marquardt's rule."""
        cost, rest, jacobian = self._linear(kind, place, noise)
        damping = 1e-3
        for _ in range(STEPS):
            scale = np.sqrt(np.sum(jacobian**2, axis=0)) + 1e-30
            normal = (jacobian / scale).T @ (jacobian / scale)
            step = np.linalg.solve(normal + damping * np.eye(len(scale)), (jacobian / scale).T @ rest) / scale
            tried = place + step
            new_cost, new_rest, new_jacobian = self._linear(kind, tried, noise)
            if new_cost < cost:
                done = cost - new_cost < SETTLED * cost
                place, cost, rest, jacobian = tried, new_cost, new_rest, new_jacobian
                damping = max(1e-9, damping / 10)
                if done:
                    break
            else:
                damping *= 10
                if damping > 1e6:
                    break
        return place

    def _linear(self, kind: Kind, place: Real, noise: Real) -> tuple[float, Real, Real]:
        """(misfit, what is left, how it changes with `place`), in units of the noise, the breath's own limits last."""
        reeds, bends = len(kind.octaves), len(self._bends)
        plain, white = self._parts(kind, place)
        times = 2 * np.pi * self.take.times_s
        rest, columns = [], []
        for h, k in enumerate(self.take.harmonics):
            base, _ = np.linalg.qr(white[h])
            amplitudes = np.linalg.lstsq(white[h], self._seen[h], rcond=None)[0]
            tone = plain[h] * amplitudes
            whole = tone.sum(axis=1)
            change = np.zeros((self.take.count, len(place)), complex)
            for column, reed in enumerate(kind.sounds(k)):
                change[:, reed] = 1j * k * times * tone[:, column]
            change[:, reeds : reeds + bends] = 1j * k * self._bends.T * whole[:, None]
            change[:, reeds + bends :] = self._swells.T * whole[:, None]
            change = self._white @ change
            change -= base @ (base.conj().T @ change)
            left = self._seen[h] - white[h] @ amplitudes
            per = 1 / np.sqrt(noise[h] / 2)
            rest += [left.real * per, left.imag * per]
            columns += [change.real * per, change.imag * per]
        most = np.concatenate((self._bend_most, self._swell_most))
        held = np.zeros((len(most), len(place)))
        held[:, reeds:] = np.diag(1 / most)
        rest.append(-place[reeds:] / most)
        columns.append(held)
        vector = np.concatenate(rest)
        return float(vector @ vector), vector, np.concatenate(columns)

    def _left(self, kind: Kind, place: Real) -> tuple[Real, list[Complex]]:
        """Mean square of what is left in each harmonic, and each reed's tones there."""
        plain, white = self._parts(kind, place)
        left, tones = [], []
        for h in range(len(self._k)):
            amplitudes = np.linalg.lstsq(white[h], self._seen[h], rcond=None)[0]
            left.append(np.mean(np.abs(self._seen[h] - white[h] @ amplitudes) ** 2))
            tones.append(plain[h] * amplitudes)
        return np.array(left), tones

    def _noise(self, kind: Kind, place: Real) -> Real:
        """Variance of a point in each harmonic, from what is left; none far below what all have in common."""
        left, _ = self._left(kind, place)
        given = self.take.count / max(1.0, self.take.count - self._spent(kind))
        return np.asarray(np.maximum(left, 0.1 * np.mean(left)) * given)

    def _spent(self, kind: Kind) -> float:
        """Complex numbers fitted per harmonic, the curves counted half: they are held."""
        curves = len(self._bends) + len(self._swells)
        return float(np.mean([len(kind.sounds(k)) for k in self.take.harmonics])) + (len(kind.octaves) + curves / 2) / (
            2 * len(self._k)
        )

    def _misfit(self, left: Real) -> float:
        unseen = UNSEEN * float(np.sum(np.abs(self._seen) ** 2)) / self._seen.size
        return float(2 * self.take.count * np.sum(np.log(left + unseen)))

    def _fit(self, kind: Kind, place: Real) -> Fit:
        _, _, jacobian = self._linear(kind, place, self._noise(kind, place))
        reeds = len(kind.octaves)
        covariance = np.asarray(np.linalg.pinv(jacobian.T @ jacobian)[:reeds, :reeds], np.float64)
        left, tones = self._left(kind, place)
        powers, odd = np.zeros(reeds), np.zeros(reeds)
        for h, k in enumerate(self.take.harmonics):
            for column, reed in enumerate(kind.sounds(k)):
                power = np.mean(np.abs(tones[h][:, column]) ** 2)
                powers[reed] += power
                odd[reed] += power * (k % 2)
        free = (
            2 * len(self._k) * self.take.count - 2 * sum(len(kind.sounds(k)) for k in self.take.harmonics) - len(place)
        )
        return Fit(kind, place[:reeds], covariance, powers, odd, self._misfit(left), float(np.sum(left)), free)
