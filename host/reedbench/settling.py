"""How far worked reeds come back by themselves, learned from those of the last pass.

A reed just worked is warm and reads flat on the bench, so it ends higher than it was left; and it goes back by some of
its move as it settles. How much that makes depends on the shop: who waits before sounding sees less of it. So it is not
assumed but seen: what reeds read now against where the plan had the pass stop, raised and lowered reeds apart.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import median

# Common practice, no source:
DOUBT = 3  # reeds' worth of doubt that there is anything to it
MOST_CENTS = 1.5  # of what was seen that a plan counts on


@dataclass(frozen=True)
class Settling:
    """What reeds that went one way do after a pass; above zero they end higher than they were left."""

    cents: float = 0.0  # to be expected of the next reed
    reeds: int = 0  # seen

    @property
    def counted_on(self) -> float:
        """As much of it as a plan counts on."""
        return max(-MOST_CENTS, min(MOST_CENTS, self.cents))


def settling(stops: Mapping[int, float], now: Mapping[int, float]) -> Settling:
    """What is to be expected, from reeds worked in one direction in the last pass.

    `stops`: what each was to read at its end, `now`: what it reads in the survey after it; by ordinal, in cents from
    target. The middle of what was seen, drawn towards nought where few were.
    """
    seen = [now[ordinal] - stop for ordinal, stop in stops.items() if ordinal in now]
    if not seen:
        return Settling()
    return Settling(median(seen) * len(seen) / (len(seen) + DOUBT), len(seen))
