"""The order of work on the sheet, cut into stages, and what to check before any of it."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from reedbench.plan import Item, Plan

ACCESS = {
    "outer": "outer face, at hand with the covers off",
    "inner": "inner face: take the plate off the comb and turn it over",
}


@dataclass(frozen=True)
class Stage:
    """A stretch of work that is done in one go."""

    title: str
    note: str
    items: tuple[Item, ...]


def stages(plan: Plan) -> list[Stage]:
    """The plan's work, in its own order."""
    return [_stage(list(items)) for _, items in groupby(plan.work(), key=_bench)]


def _bench(item: Item) -> tuple[str, ...]:
    """Items with the same bench are worked in one go."""
    if item.work_pass == "fine":
        return "fine", item.reed.plate, item.reed.face
    return (item.work_pass or item.action,)


def _stage(items: Iterable[Item]) -> Stage:
    items = tuple(items)
    first = items[0]
    bench = _bench(first)
    if bench[0] == "inspect":
        return Stage(
            "Look first",
            "No metal comes off these until the cause is found and they are sounded again.",
            items,
        )
    if bench[0] == "rough":
        return Stage(
            "Rough pass",
            "Largest first. Leave them to rest, then survey them again before the fine pass.",
            items,
        )
    if bench[0] == "fine":
        return Stage(f"Fine pass, {first.reed.plate} plate", ACCESS[first.reed.face].capitalize() + ".", items)
    return Stage("Sound again", "Nothing to cut yet; one or two more takes will decide.", items)


def checklist(plan: Plan) -> list[str]:
    """What to see to before any metal comes off (common practice, no source)."""
    steps = [
        "Instrument at room temperature, clean and dry; lint and dust out of the slots.",
        "Combs, plates and screws airtight; slide moves freely and seals."
        if plan.instrument.layout.has_slide
        else "Combs, plates and screws airtight.",
        "Valves flat, dry and free; none missing.",
        "Every tongue centred in its slot; gap and curve set. Each moves the pitch, so they come first.",
        "Support the tongue with a thin shim; stroke lengthwise, never across; never nick an edge.",
        "After each touch: brush, pluck a few times, let the warmth of your hand leave it, then measure.",
        "Raise a little low and creep up. Lower with more care: the rivet end moves three times as far.",
    ]
    if plan.instrument.layout.unconfirmed:
        steps.insert(0, "The layout of this instrument is unconfirmed: check its notes before you trust a move.")
    return steps
