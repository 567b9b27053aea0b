"""How long things take in this shop: sounding a reed, working one. From the times of takes, breaks left out."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from statistics import quantiles

from reedbench.hand.past import Chapter, Stretch
from reedbench.plan import Plan

# Common practice, no source:
BREAK_S = 120.0  # longer between two takes, and nobody was surveying
AWAY_S = 6 * 3600.0  # longer between two surveys, and nobody was working all the while


@dataclass(frozen=True)
class Span:
    """Seconds: the middle of what was seen, the half of it that lies around that, and how often it was seen."""

    seconds: float
    low_s: float
    high_s: float
    seen: int

    def times(self, count: float) -> "Span":
        """The same for so many."""
        return Span(self.seconds * count, self.low_s * count, self.high_s * count, self.seen)

    @property
    def words(self) -> str:
        """For people: "40 min (30 to 55)"."""
        if self.seconds < 120:
            return f"{self.seconds:.0f} s ({self.low_s:.0f} to {self.high_s:.0f})"
        return f"{self.seconds / 60:.0f} min ({self.low_s / 60:.0f} to {self.high_s / 60:.0f})"


@dataclass(frozen=True)
class Pace:
    """What one reed takes: to be surveyed, and to be worked in one pass; None where the record does not tell."""

    survey: Span | None
    work: Span | None

    def estimate(self, plan: Plan) -> Span | None:
        """One pass of the plan's work and the survey of the reeds it touched after it."""
        moved = sum(item.zone is not None for item in plan.items)
        if self.survey is None or self.work is None or not moved:
            return None
        spans = self.work.times(moved), self.survey.times(moved)
        return Span(
            sum(one.seconds for one in spans),
            sum(one.low_s for one in spans),
            sum(one.high_s for one in spans),
            self.work.seen,
        )


def pace(chapters: Iterable[Chapter], stretches: Iterable[Stretch]) -> Pace:
    """From the takes of surveys, and the time between surveys that a pass lies between."""
    sounded = [spent for chapter in chapters if (spent := _of_reed(chapter))]
    worked = [spent for stretch in stretches if (spent := _of_work(stretch))]
    return Pace(_span(sounded), _span(worked))


def _times(chapter: Chapter) -> list[int]:
    return sorted(take.unix_s for take in chapter.read.takes if take.unix_s)


def _of_reed(chapter: Chapter) -> float | None:
    """Seconds that surveying a reed took, all its takes together."""
    reeds = {take.ordinal for take in chapter.read.takes}
    spent = sum(after - before for before, after in pairwise(_times(chapter)) if after - before <= BREAK_S)
    return spent / len(reeds) if spent and chapter.survey.ended else None


def _of_work(stretch: Stretch) -> float | None:
    """Seconds that working a reed took, from the last take before the pass to the first after it."""
    count = sum(bool(one.action) for one in stretch.moved)
    if not stretch.worked or not count:
        return None
    before, after = _times(stretch.before), _times(stretch.after)
    spent = after[0] - before[-1] if before and after else 0
    return spent / count if 0 < spent <= AWAY_S else None


def _span(seen: Sequence[float]) -> Span | None:
    if not seen:
        return None
    if len(seen) == 1:
        return Span(seen[0], seen[0] / 2, seen[0] * 2, 1)
    low, middle, high = quantiles(seen, n=4, method="inclusive")
    return Span(middle, low, high, len(seen))
