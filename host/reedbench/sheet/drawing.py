"""Geometry of the plates on the sheet, in drawing units; the template only writes it down as SVG.

Both plates are seen from their outer face, hole 1 to the left, unfolded along the mouth edge: the upper
plate above with that edge below, the lower plate below with that edge above. Outer reeds are drawn with
full lines, inner ones, which lie behind the plate, with broken lines, as in any workshop drawing. A plate
is cut into groups of four holes, so that a narrow screen can stack what paper shows in one row.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.instrument import PLATES
from reedbench.plan import Item, Plan
from reedbench.words import signed

GROUP = 4  # holes
REED = 46  # width of a reed's column
HOLE_GAP = 8
BODY_TOP = 54  # the plate itself, from its upper to its lower edge
BODY = 236
MARGIN = 8  # from the mouth edge to the nearest end of a slot
PAD = 14  # the tongue's riveted end
LONGEST = 190
# Length of a harmonica reed against pitch: about 25 mm at C3 and 10 mm at D7 (from memory).
LENGTH_POWER = 0.32

WORDS = {"raise": "raise", "lower": "lower", "leave": "leave", "inspect": "look", "sound again": "again"}


@dataclass(frozen=True)
class ReedDrawing:
    """One reed in its slot. All y run downwards in drawing units; x is of the column's middle."""

    x: float
    item: Item
    slot_top: float
    length: float  # of the slot
    pad_top: float
    patch_top: float  # stretch of the tongue where metal comes off, of no height where none does
    patch_height: float
    wave: str  # SVG path along the tongue of a reed to be sounded again, or ""
    move: str
    word: str


@dataclass(frozen=True)
class HoleDrawing:
    """One hole and its reeds; `x` and `width` in the drawing's units."""

    number: int  # within its group, from 1
    x: float
    width: float
    place: str
    slide: str
    reeds: tuple[ReedDrawing, ...]


@dataclass(frozen=True)
class GroupDrawing:
    """Holes that fit into one row of the page."""

    holes: tuple[HoleDrawing, ...]
    width: float
    words: str  # what it shows, for those who cannot see it


@dataclass(frozen=True)
class PlateDrawing:
    """One plate as the bench sees it, in rows."""

    name: str
    mouth_above: bool
    groups: tuple[GroupDrawing, ...]

    @property
    def holes(self) -> int:
        return sum(len(group.holes) for group in self.groups)


def plates(plan: Plan) -> list[PlateDrawing]:
    """The plates of the plan's instrument, the upper first."""
    lowest = min(item.reed.target_hz for item in plan.items)
    drawings = []
    for name in PLATES:
        mouth_above = name == "lower"
        holes: dict[int, list[Item]] = {}
        for _, item in sorted(plan.by_ordinal().items()):
            if item.reed.plate == name:
                holes.setdefault(item.reed.hole, []).append(item)
        cells = [sorted(items, key=lambda item: item.reed.breath) for _, items in sorted(holes.items())]
        groups = tuple(
            _group(cells[start : start + GROUP], lowest, mouth_above) for start in range(0, len(cells), GROUP)
        )
        if groups:
            drawings.append(PlateDrawing(name, mouth_above, groups))
    return drawings


def _group(cells: Sequence[Sequence[Item]], lowest_hz: float, mouth_above: bool) -> GroupDrawing:
    holes: list[HoleDrawing] = []
    x = 0.0
    for items in cells:
        width = len(items) * REED + HOLE_GAP
        reeds = tuple(
            _reed(x + HOLE_GAP / 2 + REED * (place + 0.5), item, lowest_hz, mouth_above)
            for place, item in enumerate(items)
        )
        holes.append(HoleDrawing(len(holes) + 1, x, width, items[0].reed.place, items[0].reed.slide, reeds))
        x += width
    words = "; ".join(f"{reed.item.reed.label}: {reed.word} {reed.move}" for hole in holes for reed in hole.reeds)
    return GroupDrawing(tuple(holes), x, words)


def _reed(x: float, item: Item, lowest_hz: float, mouth_above: bool) -> ReedDrawing:
    length = LONGEST * (lowest_hz / item.reed.target_hz) ** LENGTH_POWER
    # Inner reeds are riveted near the mouth, outer ones at the far end (one essay on ten-hole instruments).
    rivet_above = (item.reed.face == "inner") == mouth_above
    whole = length + PAD
    top = BODY_TOP + MARGIN if mouth_above else BODY_TOP + BODY - MARGIN - whole
    slot_top = top + PAD if rivet_above else top
    pad_top = top if rivet_above else top + length
    patch_top = slot_top
    patch_height = 0.0
    if item.zone:
        share = item.zone.start if rivet_above else 1 - item.zone.end
        patch_top = slot_top + share * length
        patch_height = (item.zone.end - item.zone.start) * length
    return ReedDrawing(
        x=x,
        item=item,
        slot_top=slot_top,
        length=length,
        pad_top=pad_top,
        patch_top=patch_top,
        patch_height=patch_height,
        wave=_wave(x, slot_top + 6, length - 12) if item.action == "sound again" else "",
        move="\u2013" if item.move_cents is None else _short(item.move_cents),
        word=WORDS[item.action],
    )


def _short(cents: float) -> str:
    """A move in at most five characters."""
    if cents == 0:
        return "0"
    return signed(cents, 1 if abs(cents) < 99.95 else 0)


def _wave(x: float, top: float, length: float) -> str:
    steps = max(2, round(length / 10))
    step = length / steps
    bends = "".join(f"q{6 if place % 2 else -6} {step / 2:.1f} 0 {step:.1f}" for place in range(steps))
    return f"M{x:.1f} {top:.1f}{bends}"
