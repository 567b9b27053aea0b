"""What a reed will read assembled when it reads so much on the bench, and the target it must read there.

Covers, comb, clamping and the direction of the air each move a reed by cents, and not every reed alike. The offset of a
reed, assembled minus bench, is the sum of what all reeds have in common, what its register (octave) has, what its plate
has, and what is its own. Each part is drawn towards nought as strongly as the reeds that were read in both states
allow: a reed read in both keeps nearly what it showed, one that was not takes what its register and plate have, and the
uncertainty says which it was. (A linear model with random effects, best linear unbiased prediction.)
"""

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from reedbench.instrument import Instrument, InstrumentReed
from reedbench.reading import Reading
from reedbench.repeatability import NORMAL
from reedbench.tuning import raised

# Common practice, no source: offsets are of a few cents.
COMMON_CENTS = (
    3.0  # standard deviation of what all reeds of an instrument have in common, from instrument to instrument
)
PART_CENTS = (0.2, 0.5, 1.2, 3.0)  # of what a register, a plate or a reed has of its own: any of these, equally likely

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Offset:
    """How much higher a reed reads assembled than on the bench."""

    cents: float
    u95_cents: float
    learned: str  # "reed": read in both states; "class": from others of its register and plate; "": from none

    def bench_cents(self, assembled_cents: float = 0.0) -> float:
        """What the reed must read on the bench, from its target, to read `assembled_cents` assembled."""
        return assembled_cents - self.cents

    def bench_hz(self, reed: InstrumentReed) -> float:
        """The target as it must read on the bench."""
        return raised(reed.target_hz, self.bench_cents())


def offsets(
    instrument: Instrument, bench: Mapping[int, Reading], assembled: Mapping[int, Reading]
) -> dict[int, Offset]:
    """The offset of every reed, by ordinal, from two surveys of the same instrument with no work between them.

    Both by the same meter and at the same temperature, or that difference is taken for an offset of all reeds. Reeds
    may be missing in either survey.
    """
    reeds = instrument.reeds
    both = [reed.ordinal for reed in reeds if reed.ordinal in bench and reed.ordinal in assembled]
    read = {n: pair for n in both if (pair := _difference(bench[n], assembled[n]))}
    seen, variance = np.array(list(read.values()), dtype=float).reshape(-1, 2).T
    cents, deviation = _predicted(_alike(reeds), np.array(list(read), dtype=int), seen, variance)
    return {
        reed.ordinal: Offset(
            cents=float(cents[reed.ordinal]),
            u95_cents=float(NORMAL * deviation[reed.ordinal]),
            learned="reed" if reed.ordinal in read else "class" if read else "",
        )
        for reed in reeds
    }


def _difference(bench: Reading, assembled: Reading) -> tuple[float, float] | None:
    """(assembled minus bench in cents, its variance without the clock's share); None without both readings."""
    if bench.cents is None or assembled.cents is None or bench.u95_cents is None or assembled.u95_cents is None:
        return None
    own = sum(one.u95_cents**2 - (one.clock_u95_cents or 0.0) ** 2 for one in (bench, assembled) if one.u95_cents)
    return assembled.cents - bench.cents, own / NORMAL**2


def _alike(reeds: tuple[InstrumentReed, ...]) -> Floats:
    """Shape (3, reeds, reeds): 1 where two reeds share the register, the plate, or are the same reed."""
    lowest = min(reed.midi for reed in reeds)
    octave = np.array([(reed.midi - lowest) // 12 for reed in reeds])
    plate = np.array([reed.plate for reed in reeds])
    return np.array([octave[:, None] == octave, plate[:, None] == plate, np.eye(len(reeds))], dtype=float)


def _predicted(alike: Floats, where: NDArray[np.int_], seen: Floats, variance: Floats) -> tuple[Floats, Floats]:
    """(offset, its standard deviation) of every reed, from offsets `seen` of some, each with its `variance`.

    How much registers, plates and reeds differ is not known beforehand: every combination of PART_CENTS is weighed by
    how well it explains what was seen.
    """
    parts = np.square(list(product(PART_CENTS, repeat=len(alike))))
    covariance = COMMON_CENTS**2 + np.tensordot(parts, alike, axes=1)  # (combinations, reeds, reeds)
    lower = np.linalg.cholesky(covariance[:, where[:, None], where] + np.diag(variance))
    white = np.linalg.solve(lower, seen[None, :, None])
    reach = np.linalg.solve(lower, covariance[:, where])
    means = (white * reach).sum(axis=1)
    squares = np.diagonal(covariance, axis1=1, axis2=2) - (reach**2).sum(axis=1) + means**2
    evidence = -(white**2).sum(axis=(1, 2)) / 2 - np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    weights = np.exp(evidence - evidence.max())
    weights /= weights.sum()
    cents = weights @ means
    return cents, np.sqrt(weights @ squares - cents**2)
