"""The plan in the shop's terms for a terminal: plate by plate what needs attention, then the totals."""

import textwrap
from collections.abc import Iterable

from reedbench.course import course, part_words
from reedbench.instrument import Instrument
from reedbench.item import Item
from reedbench.output import clean
from reedbench.plan import Plan
from reedbench.together import PAIR, Together
from reedbench.words import signed

NARROWEST = 40
MOST_BEATS = 8  # lines about what sounds together


def plan_lines(plan: Plan, width: int = 80) -> list[str]:
    """The plan as lines of at most `width` characters (40 at least), safe to print on any terminal."""
    width = max(width, NARROWEST)
    instrument = plan.instrument
    order = instrument.order
    lines = textwrap.wrap(f"{clean(instrument.name)}: {kind(instrument)}", width)
    lines += textwrap.wrap(f"A = {order.reference_hz:g} Hz, {', '.join(ordered(instrument))}", width)
    if instrument.layout.unconfirmed:
        lines += textwrap.wrap("This layout is unconfirmed: check its notes against the instrument.", width)
    for remark in plan.remarks:
        lines += textwrap.wrap(clean(remark), width)
    for plate in instrument.plates:
        items = [item for item in plan.items if item.reed.plate == plate]
        if items:
            lines += ["", *_plate_lines(instrument.layout.plate_name(plate), items, width)]
    if beating := plan.beating():
        lines += ["", "SOUNDING TOGETHER, beats a second", *_beat_lines(plan, beating, width)]
    if plan.parts:
        lines += ["", "PARTS", *_indented((part_words(plan, part) for part in plan.parts), width)]
    lines += ["", "IN WHICH ORDER", *_indented(course(plan), width)]
    return [*lines, "", *textwrap.wrap(summary(plan), width)]


def _indented(said: Iterable[str], width: int) -> list[str]:
    """Each wrapped, its first line farther out."""
    return [
        line
        for one in said
        for line in textwrap.wrap(clean(one), width, initial_indent=" " * 5, subsequent_indent=" " * 7)
    ]


def kind(instrument: Instrument) -> str:
    """What sort of instrument it is, and its key where there is a choice."""
    return instrument.layout.title + (f", key {instrument.key}" if instrument.layout.transposing else "")


def ordered(instrument: Instrument) -> list[str]:
    """What the order says beside the reference, a phrase each."""
    order, layout = instrument.order, instrument.layout
    pairs = (order.pairs or layout.pairs) if layout.has_pairs else None
    phrases = [
        f"{order.temperament} temperament" + (f" on {order.tonic}" if order.tonic else ""),
        pairs.words if pairs else "",
        f"stretched {order.stretch_cents_per_octave:g} cents an octave" if order.stretch_cents_per_octave else "",
        f"with offsets of its own ({len(order.offsets)})" if order.offsets else "",
        f"raised {order.drop_cents:g} cents for the drop in play" if order.drop_cents else "",
        f"tolerance {order.tolerance_cents:g} cents",
    ]
    return [phrase for phrase in phrases if phrase]


def summary(plan: Plan) -> str:
    """How many reeds need work and in which direction, in one sentence."""
    totals = plan.totals()
    parts = [
        f"{totals[key]} {words}"
        for key, words in (
            ("raise", "to raise"),
            ("lower", "to lower"),
            ("replace", "to replace"),
            ("inspect", "to look at first"),
        )
        if totals[key]
    ]
    detail = f": {', '.join(parts)}" if parts else ""
    again = f"; {totals['sound_again']} to sound again" if totals["sound_again"] else ""
    off = [one for one in plan.together if one.interval is PAIR and one.off_hz is not None and one.off_hz > one.goal_hz]
    items = plan.by_ordinal()
    pairs = sum(items[one.lower.ordinal].verdict == items[one.upper.ordinal].verdict == "good" for one in off)
    beats = f"; of the good ones {pairs} {'pair beats' if pairs == 1 else 'pairs beat'} otherwise than wanted"
    good = f"{totals['leave']} good{beats if pairs else ''}"
    return f"{totals['need_work']} of {totals['reeds']} reeds need work{detail}{again}; {good}."


def _plate_lines(plate: str, items: list[Item], width: int) -> list[str]:
    attention = sorted((item for item in items if item.order), key=lambda item: item.order)
    lines = [f"{clean(plate).upper()}: {len(items) - len(attention)} of {len(items)} reeds good"]
    unheard = [item for item in attention if item.unheard]
    for item in attention:
        if item.unheard and len(unheard) > 1:
            continue
        reed = item.reed
        face = f" {reed.face}" if reed.face else ""
        head = f"{item.order:>3}. {reed.label:<18} {reed.note:<4}{face}  {_what(item)}"
        lines += textwrap.wrap(head, width, subsequent_indent=" " * 5)
        if item.action in ("inspect", "replace") or item.reading.cents is None:
            lines += textwrap.wrap(item.why, width, initial_indent=" " * 5, subsequent_indent=" " * 5)
    if len(unheard) > 1:
        labels = "; ".join(item.reed.label for item in unheard)
        head = f"{unheard[0].order:>3}. to {unheard[-1].order}. Not sounded in this survey: {labels}"
        lines += textwrap.wrap(head, width, subsequent_indent=" " * 5)
    return lines


def _beat_lines(plan: Plan, beating: list[Together], width: int) -> list[str]:
    lines = _indented((beat_words(plan, one) for one in beating[:MOST_BEATS]), width)
    more = len(beating) - MOST_BEATS
    return lines + ([f"     and {more} more"] if more > 0 else [])


def beat_words(plan: Plan, one: Together) -> str:
    """Two reeds that sound together: how they beat, and what brings them together last."""
    once = ", one breath" if one.at_once else ""
    last = plan.last(one)
    then = f"; then move {last.reed.label} by {signed(-(last.after_cents or 0.0))}" if last else ""
    return f"{one.lower.label} with {one.upper.label}, {one.interval.name}{once}: {one.words}{then}"


def _what(item: Item) -> str:
    """Reading and work of one reed: " +6.1 ±0.5  lower 6.1 at rivet, stop +1.5"."""
    reading, zone = item.reading, item.zone
    reads = "" if reading.cents is None else f"{signed(reading.cents):>6} ±{reading.u95_cents:.1f}  "
    if item.move_cents is None or item.stop_cents is None:
        more = f", {item.more_takes} more" if item.more_takes else ""
        return reads + {"inspect": "look first"}.get(item.action, item.action) + more
    way = f"at {zone.name}" if zone else "by tip mass"
    stop = f"stop {signed(item.stop_cents)}{on_bench(item)}"
    strokes = f", {item.strokes.words}" if item.strokes else ""
    return f"{reads}{item.action} {abs(item.move_cents):.1f} {way}, {stop}{strokes}"


def on_bench(item: Item) -> str:
    """Where to stop on the bench: ", on the bench −4.6"; with its uncertainty where others of its class told it."""
    if item.offset is None or item.bench_stop_cents is None:
        return ""
    doubt = "" if item.offset.learned == "reed" else f" ±{item.offset.u95_cents:.1f}"
    return f", on the bench {signed(item.bench_stop_cents)}{doubt}"
