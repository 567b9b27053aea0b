"""How far breath warmth and the room moved the instrument during a survey, by a control reed sounded again on the way.

The control reed opens the survey and is sounded again in the middle and at the end. What it moved, all reeds are taken
to have moved, in straight lines between its soundings. A reading is of its own moment; how far that lies from the
survey's mean is told, and counts in the reading's uncertainty, but is never taken off.

An effect that is not corrected is added to the expanded uncertainty as it is: S. D. Phillips, K. R. Eberhardt,
B. Parry, Guidelines for expressing the uncertainty of measurement results containing uncorrected bias, J. Res. NIST
102 (1997), 577. The square of its estimate is too large by the square of what that is uncertain by. This is taken off,
so that a survey without any drift is hardly punished for having looked.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from reedbench.repeatability import NORMAL


@dataclass(frozen=True)
class Sounded:
    """The control reed at one moment: seconds from power-up, cents, and their standard uncertainty."""

    up_s: float
    cents: float
    u_cents: float


@dataclass(frozen=True)
class Moved:
    """How far the instrument was from the survey's mean: cents, and their standard uncertainty."""

    cents: float
    u_cents: float

    @property
    def adds_cents(self) -> float:
        """What it adds to the 95 % uncertainty of a reading of that moment."""
        return math.sqrt(max(0.0, self.cents**2 - self.u_cents**2))


@dataclass(frozen=True)
class Control:
    """Drift of one survey. `sounded`: the control reed in the order of time, twice or more; `times`: those of all
    reeds, seconds from power-up, over which the mean is."""

    ordinal: int
    sounded: Sequence[Sounded]
    times: Sequence[float]

    @property
    def cents(self) -> float:
        """How far the instrument moved from the first sounding of the control reed to the last."""
        return self.sounded[-1].cents - self.sounded[0].cents

    @property
    def u95_cents(self) -> float:
        """95 % uncertainty of that."""
        return NORMAL * math.hypot(self.sounded[-1].u_cents, self.sounded[0].u_cents)

    @property
    def minutes(self) -> float:
        """Time from the first sounding of the control reed to the last."""
        return (self.sounded[-1].up_s - self.sounded[0].up_s) / 60

    def at(self, up_s: float) -> Moved:
        """How far it was at that moment."""
        shares = [own - usual for own, usual in zip(self._shares(up_s), self._mean_shares, strict=True)]
        cents = sum(share * one.cents for share, one in zip(shares, self.sounded, strict=True))
        u_cents = math.sqrt(sum((share * one.u_cents) ** 2 for share, one in zip(shares, self.sounded, strict=True)))
        return Moved(cents, u_cents)

    @cached_property
    def _mean_shares(self) -> list[float]:
        return [sum(part) / len(self.times) for part in zip(*(self._shares(time) for time in self.times), strict=True)]

    def _shares(self, up_s: float) -> list[float]:
        """What each sounding counts at that moment: those on either side of it by how near they are."""
        shares = [0.0] * len(self.sounded)
        last = len(self.sounded) - 1
        after = next((n for n, one in enumerate(self.sounded) if one.up_s >= up_s), last)
        before = max(0, after - 1)
        gap = self.sounded[after].up_s - self.sounded[before].up_s
        share = min(1.0, max(0.0, (up_s - self.sounded[before].up_s) / gap)) if gap > 0 else 1.0
        shares[before] += 1 - share
        shares[after] += share
        return shares
