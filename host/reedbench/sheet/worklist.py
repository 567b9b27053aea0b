"""The order of work on the sheet, cut into stages, what to check before any of it, and how to get at a reed."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby

from reedbench.layouts import Layout
from reedbench.layouts.layout import FACES
from reedbench.plan import Item, Plan

# How to get at a reed, on a comb and elsewhere.
ON_COMB = {
    "outer": "Outer face, at hand with the covers off.",
    "inner": "Inner face: take the plate off the comb and turn it over.",
}
ELSEWHERE = {
    "outer": "Outer face, at hand once it is out.",
    "inner": "Inner face, towards the chamber: work through the slot's other side, or take the reed off.",
    "": "One reed after the other, as they stand.",
}
LIES = {"outer": "under the cover", "inner": "behind the plate"}  # on a comb


@dataclass(frozen=True)
class Stage:
    """A stretch of work that is done in one go."""

    title: str
    note: str
    items: tuple[Item, ...]


def stages(plan: Plan) -> list[Stage]:
    """The plan's work, in its own order."""
    layout = plan.instrument.layout
    return [_stage(layout, list(items)) for _, items in groupby(plan.work(), key=_bench)]


def _bench(item: Item) -> tuple[str, ...]:
    """Items with the same bench are worked in one go."""
    if item.work_pass == "fine":
        return "fine", item.reed.plate, item.reed.face
    return (item.work_pass or item.action,)


def _stage(layout: Layout, items: Iterable[Item]) -> Stage:
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
        access = ON_COMB if layout.has_comb else ELSEWHERE
        return Stage(f"Fine pass, {layout.plate_name(first.reed.plate)}", access[first.reed.face], items)
    return Stage("Sound again", "Nothing to cut yet; one or two more takes will decide.", items)


def faces(layout: Layout) -> list[tuple[str, str]]:
    """(face, what is there) of each face on which reeds lie, for the legend."""
    breaths = sorted({reed.breath for reed in layout.reeds if reed.breath}, key=lambda breath: FACES[breath] != "outer")
    return [(FACES[breath], f"{breath}, {LIES[FACES[breath]]}" if layout.has_comb else breath) for breath in breaths]


def checklist(plan: Plan) -> list[str]:
    """What to see to before any metal comes off (common practice, no source)."""
    layout = plan.instrument.layout
    parts = f"{'Combs, plates' if layout.has_comb else layout.plate_word.capitalize() + 's, wax, leather'} and screws"
    steps = [
        "Instrument at room temperature, clean and dry; lint and dust out of the slots.",
        f"{parts} airtight{'; slide moves freely and seals' if layout.has_slide else ''}.",
        "Valves flat, dry and free; none missing.",
        "Every tongue centred in its slot; gap and curve set. Each moves the pitch, so they come first.",
        "Support the tongue with a thin shim; stroke lengthwise, never across; never nick an edge.",
        "After each touch: brush, pluck a few times, let the warmth of your hand leave it, then measure.",
        "Raise a little low and creep up. Lower with more care: the rivet end moves three times as far.",
    ]
    if layout.wind == "bellows":
        steps.append("Finish by readings in the closed instrument: on the bench the air and the clamping differ.")
    if layout.has_pairs:
        steps.append("One reed of a pair at a time, the other muted: two that sound together pull at each other.")
    if layout.unconfirmed:
        steps.insert(0, "The layout of this instrument is unconfirmed: check its notes before you trust a move.")
    return steps
