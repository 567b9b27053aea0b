"""What the whole shop's record teaches, for a terminal and for other programs."""

import textwrap
from typing import Any

from reedbench.hand.shop import Shop
from reedbench.hand.stroke import KNOWN, Place, Stroke
from reedbench.hand.told import pace_dict, pace_words, settled_words
from reedbench.output import columns
from reedbench.plan_data import settled_as_dict
from reedbench.tuning import note_name
from reedbench.words import rounded


def shop_lines(shop: Shop, width: int) -> list[str]:
    """The shop's memory as lines of at most `width` characters, 60 at least."""
    width = max(width, 60)
    strokes = list(zip(shop.hand.classes(), shop.hand.strokes(shop.hand.classes()), strict=True))
    lines = []
    if strokes:
        lines += ["Cents of one stroke, by class of reeds, where strokes were counted:", ""]
        head = ("to", "seat", "notes", "cents", "between", "and", "reeds")
        lines += columns([head, *(_row(place, stroke) for place, stroke in strokes)])
        told = f"A plan tells strokes where one is known within a factor of {KNOWN:g}."
    else:
        told = "No strokes were counted yet: `reedbench survey strokes` takes them from a table."
    lines += textwrap.wrap(told, width)
    if shop.settled:
        lines += ["", "Settled without work, after the last passes of the shop:"]
        lines += [f"  {settled_words(one)}" for one in shop.settled]
    more = []
    if shop.repeats_cents is not None:
        more.append(f"Reeds left alone read {shop.repeats_cents:.1f} cents apart from one survey to the next (RMS).")
    more += pace_words(shop.pace)
    return lines + ([""] if more else []) + [line for text in more for line in textwrap.wrap(text, width)]


def _row(place: Place, stroke: Stroke) -> tuple[str, ...]:
    notes = f"{note_name(12 * place.octave)} to {note_name(12 * place.octave + 11)}"
    figures = stroke.cents, stroke.cents / stroke.factor, stroke.cents * stroke.factor
    return (place.action, place.seat, notes, *(f"{one:.2f}" for one in figures), str(stroke.counts))


def shop_dict(shop: Shop) -> dict[str, Any]:
    """The shop's memory for `--json`."""
    classes = shop.hand.classes()
    return {
        "strokes": [
            {
                "action": place.action,
                "seat": place.seat,
                "lowest_midi": 12 * place.octave,
                "highest_midi": 12 * place.octave + 11,
                "cents_per_stroke": rounded(stroke.cents),
                "least_cents": rounded(stroke.cents / stroke.factor),
                "most_cents": rounded(stroke.cents * stroke.factor),
                "reeds": stroke.counts,
            }
            for place, stroke in zip(classes, shop.hand.strokes(classes), strict=True)
        ],
        "instruments": shop.instruments,
        "settled": [settled_as_dict(one) for one in shop.settled],
        "repeats_cents": rounded(shop.repeats_cents),
        **pace_dict(shop.pace),
    }
