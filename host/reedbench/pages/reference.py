"""The reference page: what another A would cost, and how fast unisons and octaves beat."""

from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from reedbench.costing import BESIDE_HZ, Costing
from reedbench.hand.past import Chapter
from reedbench.item import Item
from reedbench.pages.engine import render
from reedbench.pages.links import Links
from reedbench.reference import Cost
from reedbench.sheet.traced import stands_on
from reedbench.terminal import kind, ordered
from reedbench.together import Together
from reedbench.tuning import REFERENCE_HZ
from reedbench.words import signed

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
        together=[_told(one, chapter, links or Links()) for one in plan.together if one.now_hz is not None],
    )


def _told(one: Together, chapter: Chapter, links: Links) -> Markup:
    """Two reeds that should agree: how they beat, and what each of them reads."""
    items = chapter.plan.by_ordinal()
    lower, upper = (_read(links, chapter, items[reed.ordinal]) for reed in (one.lower, one.upper))
    return Markup(
        f"<li><b>{escape(one.lower.label)}</b> with <b>{escape(one.upper.label)}</b>, {one.interval.name}"
        f"{', one breath' if one.at_once else ''}: {one.words}, goal within {one.goal_hz:.1f}.\n"
        f'<span class="small">{lower}, {upper} cents; the beat is uncertain by {one.u95_hz:.2f}.</span></li>'
    )


def _read(links: Links, chapter: Chapter, item: Item) -> Markup:
    """What a reed reads, and the takes that this stands on."""
    survey, imported = chapter.survey.number, chapter.survey.file is not None
    on = "imported" if imported else stands_on(links, survey, item.reed, item.reading, named=False)
    return Markup(f"{escape(item.reed.label)} {signed(item.reading.cents or 0.0)} ({on})")


def _curve(costs: Sequence[Cost]) -> Curve:
    most = max(1, *(cost.off for cost in costs))
    low, high = costs[0].reference_hz, costs[-1].reference_hz
    empty = Curve("", low, max(high, low + 0.1), most)
    points = [f"{empty.x(cost.reference_hz)} {round(HEIGHT * (1 - cost.off / most))}" for cost in costs]
    return Curve("M" + "L".join(points), empty.low_hz, empty.high_hz, most)
