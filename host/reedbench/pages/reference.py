"""The reference page: what another A would cost, and how fast unisons and octaves beat."""

from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.costing import BESIDE_HZ, Costing
from reedbench.hand.past import Chapter
from reedbench.pages.engine import render
from reedbench.pages.links import Links
from reedbench.reference import Cost
from reedbench.terminal import kind, ordered
from reedbench.tuning import REFERENCE_HZ

WIDTH, HEIGHT = 320, 90


@dataclass(frozen=True)
class Curve:
    """Reeds to be moved against A: an SVG path over WIDTH x HEIGHT, and the most that any A would need."""

    path: str
    low_hz: float
    high_hz: float
    most: int

    def x(self, reference_hz: float) -> int:
        """Where an A lies."""
        return round(WIDTH * (reference_hz - self.low_hz) / (self.high_hz - self.low_hz))


def reference(chapter: Chapter, links: Links | None = None) -> str:
    """The page that follows from one survey."""
    plan = chapter.plan
    asked = plan.instrument.order.reference_hz
    low, high = max(REFERENCE_HZ[0], asked - BESIDE_HZ), min(REFERENCE_HZ[1], asked + BESIDE_HZ)
    costing = Costing(plan, low, high)
    return render(
        "reference.html",
        links=links or Links(),
        instrument=plan.instrument,
        kind=kind(plan.instrument),
        ordered=ordered(plan.instrument),
        chapter=chapter,
        costing=costing,
        rows=costing.in_steps(),
        curve=_curve(costing.all),
        width=WIDTH,
        height=HEIGHT,
        together=[one for one in plan.together if one.now_hz is not None],
        items=plan.by_ordinal(),
    )


def _curve(costs: Sequence[Cost]) -> Curve:
    most = max(1, *(cost.off for cost in costs))
    low, high = costs[0].reference_hz, costs[-1].reference_hz
    empty = Curve("", low, max(high, low + 0.1), most)
    points = [f"{empty.x(cost.reference_hz)} {round(HEIGHT * (1 - cost.off / most))}" for cost in costs]
    return Curve("M" + "L".join(points), empty.low_hz, empty.high_hz, most)
