"""Instruments whose reeds read assembled otherwise than on the bench by known offsets, and surveys in both states."""

import numpy as np
from reedbench.reading import Reading
from reedbench.states import COMMON_CENTS, PART_CENTS

OWN_U95 = (0.2, 0.8)  # cents, of a reading, the clock's share apart
CLOCK_U95 = 0.5  # of a meter's clock, which both surveys have in common


class OffsetShop:
    """One instrument. `offsets`: cents that each reed reads higher assembled, by ordinal.

    Instruments differ by what is assumed beforehand: in what all reeds have in common, and in how much registers,
    plates and reeds differ about it, which is any figure within the range that is held for likely.
    """

    def __init__(self, kind, rng):
        self.kind, self.rng = kind, rng
        registers, plates, reeds = np.exp(rng.uniform(np.log(PART_CENTS[0]), np.log(PART_CENTS[-1]), 3))
        lowest = min(reed.midi for reed in kind.reeds)
        octaves = [(reed.midi - lowest) // 12 for reed in kind.reeds]
        of_octave = rng.normal(0, registers, max(octaves) + 1)
        of_plate = dict(zip(kind.plates, rng.normal(0, plates, len(kind.plates)), strict=True))
        self.offsets = rng.normal(0, COMMON_CENTS) + rng.normal(0, reeds, len(kind.reeds)) + of_octave[octaves]
        self.offsets += [of_plate[reed.plate] for reed in kind.reeds]

    def read(self, both):
        """(on the bench, assembled): readings of all reeds, assembled only of those in `both`."""
        reads = self.rng.normal(-1, 5, len(self.offsets))
        clock = self.rng.normal(0, CLOCK_U95 / 1.96)
        assembled = {n: self._reading(n, reads[n] + self.offsets[n] + clock) for n in both}
        return {n: self._reading(n, cents + clock) for n, cents in enumerate(reads)}, assembled

    def _reading(self, ordinal, cents):
        own = self.rng.uniform(*OWN_U95)
        seen = cents + self.rng.normal(0, own / 1.96)
        return Reading(ordinal, float(seen), float(np.hypot(own, CLOCK_U95)), CLOCK_U95, (1, 2), (), 2, (), 0, "done")
