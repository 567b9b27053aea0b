"""What the work would be at other references, told for people and programs."""

import re
import textwrap
from dataclasses import asdict
from typing import Any

from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.output import columns
from reedbench.plan import Plan
from reedbench.reference import Cost, costs, least, own
from reedbench.tuning import REFERENCE_HZ

BESIDE_HZ = 5.0  # either way of what was ordered, where no range is asked for
MOST_ROWS = 12
STEPS = (1, 2, 5, 10, 20, 50, 100)  # in tenths of a hertz, as a table may go


def asked_range(words: str, ordered_hz: float) -> tuple[float, float]:
    """(lowest, highest) A in hertz of "438-443"; around what was ordered for ""."""
    if not words:
        return max(REFERENCE_HZ[0], ordered_hz - BESIDE_HZ), min(REFERENCE_HZ[1], ordered_hz + BESIDE_HZ)
    found = re.fullmatch(r"(\d{1,4}(?:\.\d{1,6})?)-(\d{1,4}(?:\.\d{1,6})?)", words)
    if found is None:
        raise BadInput(
            f"{shown(words)} is no range of A: write it as 438-443, and the number of the survey before --reference"
        )
    return float(found[1]), float(found[2])


class Costing:
    """The cost of every A in a range; reeds to be looked at first are left out of it."""

    def __init__(self, plan: Plan, low_hz: float, high_hz: float) -> None:
        readings = {item.reed.ordinal: item.reading for item in plan.items}
        apart = [item.reed.ordinal for item in plan.items if item.action == "inspect"]
        ordered_hz = plan.instrument.order.reference_hz
        self.all = costs(plan.instrument, readings, low_hz, high_hz, apart)
        (self.ordered,) = costs(plan.instrument, readings, ordered_hz, ordered_hz, apart)
        self.least = least(self.all, ordered_hz)
        self.own = own(plan.instrument, readings, apart)

    def lines(self, width: int) -> list[str]:
        """A table of the range in steps, and the three that matter, these wrapped to `width`."""
        rows = [("A Hz", "off", "lower", "unsure", "good", "cents", "up", "down"), *map(_row, self.in_steps())]
        said = [_said("As ordered", self.ordered), _said("Least work in this range", self.least)]
        if self.own:
            said.append(_said("Only to agree with itself", self.own))
        if self.ordered.unread:
            said.append(f"Not counted: {self.ordered.unread} without a reading, or to be looked at first.")
        return [*columns(rows), "", *(line for one in said for line in textwrap.wrap(one, max(width, 40)))]

    def as_dict(self) -> dict[str, Any]:
        """For `--json`."""
        return {
            "ordered": asdict(self.ordered),
            "least": asdict(self.least),
            "own": asdict(self.own) if self.own else None,
            "range": [asdict(cost) for cost in self.all],
        }

    def in_steps(self) -> list[Cost]:
        """As many as a table shows, at round values of A."""
        step = next((step for step in STEPS if len(self.all) <= MOST_ROWS * step), STEPS[-1])
        return [cost for cost in self.all if round(cost.reference_hz * 10) % step == 0] or self.all[:1]


def _row(cost: Cost) -> tuple[str, ...]:
    counted = (cost.off, cost.lower, cost.unsure, cost.good)
    cents = (cost.total_cents, cost.most_up_cents, cost.most_down_cents)
    return (f"{cost.reference_hz:.1f}", *map(str, counted), *(f"{one:.1f}" for one in cents))


def _said(what: str, cost: Cost) -> str:
    return (
        f"{what}: A = {cost.reference_hz:g} Hz, {cost.off} to move ({cost.lower} down), {cost.unsure} unsure; "
        f"{cost.total_cents:.0f} cents in all, at most {cost.most_up_cents:.1f} up and {cost.most_down_cents:.1f} down."
    )
