"""How far worked reeds come back by themselves: until the survey after the pass, and in the hours and days after it.

A reed just worked is warm and reads flat on the bench, so it ends higher than it was left; and it goes back by some of
its move as it settles. How much that makes depends on the shop: who waits before sounding sees less of it. So it is not
assumed but seen: what reeds read now against where the plan had the pass stop, raised and lowered reeds apart; and what
the shop's reeds have done afterwards, once that is known.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import fmean, median

from reedbench.repeatability import Repeatability

WITHIN = (("within a day", 1.0), ("within two weeks", 14.0), ("later", float("inf")))  # days between two surveys
# Common practice, no source:
DOUBT = 3  # reeds' worth of doubt that there is anything to it
MOST_CENTS = 1.5  # of what was seen that a plan counts on
STILL_CENTS = 0.5  # reeds that move less than this need not be waited for
SETTLES_CENTS = 0.8  # standard deviation of what reeds of one kind do, from shop to shop
SCATTER_CENTS = 0.6  # standard deviation about that, from reed to reed ...
SCATTER_FREEDOM = 10.0  # ... as if seen with so many degrees of freedom


@dataclass(frozen=True)
class Settled:
    """What worked reeds did from one survey after a pass to a later one without work between."""

    action: str  # "raise" or "lower": what the pass did to them
    when: str  # one of WITHIN: how long between
    cents: float  # on average, drawn towards nought where reeds are few; above zero they went higher
    u95_cents: float
    reeds: int

    @property
    def moves(self) -> bool:
        """Whether it is known that they move."""
        return abs(self.cents) > self.u95_cents

    @property
    def still(self) -> bool:
        """Whether it is known that they hardly do."""
        return abs(self.cents) + self.u95_cents <= STILL_CENTS


def settled(action: str, when: str, moved: Sequence[float]) -> Settled:
    """The mean, drawn towards nought by what is usual; what reeds differ by is pooled with what is usual too."""
    count, mean = len(moved), fmean(moved)
    freedom = SCATTER_FREEDOM + count - 1
    variance = (SCATTER_FREEDOM * SCATTER_CENTS**2 + sum((one - mean) ** 2 for one in moved)) / freedom
    kept = 1 / (1 + variance / (count * SETTLES_CENTS**2))
    spread = Repeatability((kept * variance / count) ** 0.5, freedom, 0.0)
    return Settled(action, when, kept * mean, spread.student * spread.cents, count)


@dataclass(frozen=True)
class Settling:
    """What reeds that go one way will do after a pass; above zero they end higher than they were left."""

    cents: float = 0.0  # until the survey after it, as those of the last pass did
    reeds: int = 0  # seen then
    later: tuple[Settled, ...] = ()  # after that survey, as far as the shop's record knows

    @property
    def counted_on(self) -> float:
        """As much of it as a plan counts on."""
        return max(-MOST_CENTS, min(MOST_CENTS, self.cents + sum(one.cents for one in self.later)))


def settling(
    stops: Mapping[int, float], now: Mapping[int, float], later: Sequence[Settled] = (), days: float | None = None
) -> Settling:
    """What is to be expected, from reeds worked in one direction in the last pass and from the shop's record.

    `stops`: what each was to read at its end, `now`: what it reads in the survey after it; by ordinal, in cents from
    target. The middle of what was seen, drawn towards nought where few were. `later`: what the record has of reeds
    worked that way; what it has of the first two weeks counts, where it is known that they move then, unless so many
    `days` had passed that those of the last pass have done it already.
    """
    seen = [now[ordinal] - stop for ordinal, stop in stops.items() if ordinal in now]
    limits = dict(WITHIN[:-1])
    ahead = [one for one in later if one.moves and one.when in limits]
    if not seen:
        return Settling(later=tuple(ahead))
    ahead = [one for one in ahead if days is not None and days < limits[one.when] / 2]
    return Settling(median(seen) * len(seen) / (len(seen) + DOUBT), len(seen), tuple(ahead))
