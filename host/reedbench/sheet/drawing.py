"""Geometry of the plates on the sheet, in drawing units; the template only writes it down as SVG.

The two plates of a comb are seen from their outer face, hole 1 to the left, unfolded along the mouth edge: the upper
plate above with that edge below, the lower plate below with that edge above. Elsewhere the places stand in rows, an
octave of a keyboard or a row of buttons in each, and a reed is a sign of always the same size. Outer reeds are drawn
with full lines, inner ones, which lie behind the plate, with broken lines, as in any workshop drawing. Mirrored, all
is seen from the other side: hole 1 to the right, and it is the outer reeds that lie behind. A row is cut into groups,
so that a narrow screen can stack what paper shows side by side.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reedbench.item import Item
from reedbench.layouts import Layout, Reed
from reedbench.layouts.layout import COMB
from reedbench.plan import Plan
from reedbench.tuning import note_midi
from reedbench.words import signed

GROUP_REEDS = 8  # about as many as a narrow screen can show side by side
REED = 46  # width of a reed's column
HOLE_GAP = 8
BODY_TOP = 54  # the plate itself, from its upper to its lower edge
BELOW = 60  # for move, word and number
PAD = 14  # the tongue's riveted end
MASS = 9  # on a tip
COMB_BODY, COMB_MARGIN = 236, 8  # margin: from the mouth edge to the nearest end of a slot
LONGEST = 190
ROW_BODY, ROW_MARGIN, ROW_LENGTH = 72, 5, 48
OCTAVE = 12  # places in a row of a keyboard
# Length of a harmonica reed against pitch: about 25 mm at C3 and 10 mm at D7 (from memory).
LENGTH_POWER = 0.32

WORDS = {"inspect": "look", "sound again": "again"}  # where the sheet has another word than the plan

Cells = Mapping[int, Sequence[Item]]  # reeds of each place of a row, by its column from 0


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
    mass_top: float  # where mass goes on the tip of a reed to be lowered by it
    wave: str  # SVG path along the tongue of a reed to be sounded again, or ""
    move: str
    word: str


@dataclass(frozen=True)
class HoleDrawing:
    """One hole, key or button and its reeds; `x` and `width` in the drawing's units."""

    x: float
    width: float
    place: str
    slide: str
    sharp: bool  # a raised key of a keyboard
    reeds: tuple[ReedDrawing, ...]


@dataclass(frozen=True)
class GroupDrawing:
    """Places that a narrow screen shows side by side; none where the row of a keyboard begins further right."""

    holes: tuple[HoleDrawing, ...]
    width: float
    words: str  # what it shows, for those who cannot see it


@dataclass(frozen=True)
class PlateDrawing:
    """One plate as the bench sees it, in rows of groups. Widths in drawing units."""

    name: str  # "upper plate", "M+ block"
    mouth: str  # where the mouth edge is drawn: "above", "below", or "" where there is no comb
    body: float  # height of the plate
    width: float  # of a whole row
    group_width: float  # of the widest group
    rows: tuple[tuple[GroupDrawing, ...], ...]


def plates(plan: Plan, mirrored: bool = False) -> list[PlateDrawing]:
    """The plates of the plan's instrument: of a comb the upper first, others as they are sounded."""
    layout = plan.instrument.layout
    drawings = []
    for name in COMB if layout.has_comb else layout.plates:
        items = [item for _, item in sorted(plan.by_ordinal().items()) if item.reed.plate == name]
        if items and layout.has_comb:
            mouth = "above" if name == "lower" else "below"
            drawings.append(_comb_plate(layout.plate_name(name), mouth, items, plan, mirrored))
        elif items:
            drawings.append(_block(layout, name, items, mirrored))
    return drawings


def _comb_plate(name: str, mouth: str, items: Sequence[Item], plan: Plan, mirrored: bool) -> PlateDrawing:
    lowest_hz = min(item.reed.target_hz for item in plan.items)
    holes: dict[int, list[Item]] = {}
    for item in items:
        holes.setdefault(item.reed.hole, []).append(item)
    return _plate(name, _Comb(mouth, lowest_hz), len(holes), [dict(enumerate(holes.values()))], mirrored)


def _block(layout: Layout, name: str, items: Sequence[Item], mirrored: bool) -> PlateDrawing:
    rows: dict[int, dict[int, list[Item]]] = {}
    for item in items:
        row, column = seat(layout, layout.reeds[item.reed.ordinal])
        rows.setdefault(row, {}).setdefault(column, []).append(item)
    columns = layout.per_row or OCTAVE
    return _plate(layout.plate_name(name), _Block(not layout.per_row), columns, list(rows.values()), mirrored)


def seat(layout: Layout, reed: Reed) -> tuple[int, int]:
    """(row, column) of a reed's place, both from 0; a keyboard's rows begin with C."""
    if layout.per_row:
        return divmod(reed.hole - 1, layout.per_row)
    key = note_midi(reed.place)
    assert key is not None  # the schema names keys so
    return divmod(key, OCTAVE)


@dataclass(frozen=True)
class _Comb:
    """How reeds lie on the plate of a comb."""

    mouth: str
    lowest_hz: float
    body = COMB_BODY
    keyboard = False

    def length(self, item: Item) -> float:
        return float(LONGEST * (self.lowest_hz / item.reed.target_hz) ** LENGTH_POWER)

    def top(self, whole: float) -> float:
        """Upper end of a reed and its pad, `whole` long, which begins at the mouth edge."""
        return BODY_TOP + (COMB_MARGIN if self.mouth == "above" else self.body - COMB_MARGIN - whole)

    def rivet_above(self, item: Item) -> bool:
        # Inner reeds are riveted near the mouth, outer ones at the far end (one essay on ten-hole instruments).
        return (item.reed.face == "inner") == (self.mouth == "above")


@dataclass(frozen=True)
class _Block:
    """How reeds are shown elsewhere: all alike, the riveted end below."""

    keyboard: bool
    mouth = ""
    body = ROW_BODY

    def length(self, item: Item) -> float:
        return ROW_LENGTH

    def top(self, whole: float) -> float:
        return BODY_TOP + ROW_MARGIN

    def rivet_above(self, item: Item) -> bool:
        return False


def _plate(name: str, style: _Comb | _Block, columns: int, rows: Sequence[Cells], mirrored: bool) -> PlateDrawing:
    if mirrored:
        rows = [{columns - 1 - column: items[::-1] for column, items in cells.items()} for cells in rows]
    reeds = max(len(items) for cells in rows for items in cells.values())
    wide = reeds * REED + HOLE_GAP
    size = math.ceil(columns / math.ceil(columns * reeds / GROUP_REEDS))
    starts = range(0, columns, size)
    groups = tuple(
        tuple(_group(style, cells, range(start, min(start + size, columns)), wide) for start in starts)
        for cells in rows
    )
    return PlateDrawing(name, style.mouth, style.body, columns * wide, size * wide, groups)


def _group(style: _Comb | _Block, cells: Cells, columns: range, wide: float) -> GroupDrawing:
    holes = []
    for place, column in enumerate(columns):
        if items := cells.get(column):
            x = place * wide
            middle = x + (wide - len(items) * REED) / 2
            reeds = tuple(_reed(style, middle + REED * (n + 0.5), item) for n, item in enumerate(items))
            first = items[0].reed
            sharp = style.keyboard and "#" in first.place
            holes.append(HoleDrawing(x, wide, first.place, first.slide, sharp, reeds))
    words = "; ".join(f"{reed.item.reed.label}: {reed.word} {reed.move}" for hole in holes for reed in hole.reeds)
    return GroupDrawing(tuple(holes), len(columns) * wide, words)


def _reed(style: _Comb | _Block, x: float, item: Item) -> ReedDrawing:
    length = style.length(item)
    rivet_above = style.rivet_above(item)
    top = style.top(length + PAD)
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
        mass_top=slot_top + length - MASS if rivet_above else slot_top,
        wave=_wave(x, slot_top + 6, length - 12) if item.action == "sound again" else "",
        move=_short_move(item),
        word=WORDS.get(item.action, item.action),
    )


def _short_move(item: Item) -> str:
    """The move of a reed in at most five characters."""
    cents = item.move_cents
    if cents is None:
        return "\u2013"
    if cents == 0:
        return "0"
    return signed(cents, 1 if abs(cents) < 99.95 else 0)


def _wave(x: float, top: float, length: float) -> str:
    steps = max(2, round(length / 10))
    step = length / steps
    bends = "".join(f"q{6 if place % 2 else -6} {step / 2:.1f} 0 {step:.1f}" for place in range(steps))
    return f"M{x:.1f} {top:.1f}{bends}"
