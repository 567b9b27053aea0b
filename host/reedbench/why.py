"""Every number of one reed's line in the plan, and where it comes from."""

import textwrap
from collections.abc import Iterator
from typing import Any

from reedbench.course import PAST
from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.item import Item
from reedbench.jobs import JOBS
from reedbench.loudness import Slope, slope_as_dict
from reedbench.output import clean
from reedbench.plan import Plan
from reedbench.plan_data import reed_as_dict, settled_as_dict, together_as_dict
from reedbench.together import Together
from reedbench.words import signed

PERCENT = 0.01  # of the thickness, for which the move is told
LEFT = 14  # width of the column that says what a line is about
LEARNED = {"reed": "this reed, read in both states", "class": "others of its octave and plate, read in both states"}


def item_named(plan: Plan, words: str) -> Item:
    """The line of the reed of that name, as `reed_named` has it."""
    wanted = reed_named(plan.instrument, words).ordinal
    return next(item for item in plan.items if item.reed.ordinal == wanted)


def reed_named(instrument: Instrument, words: str) -> InstrumentReed:
    """The reed that the plan calls so, whatever its spaces and capitals, or that has this ordinal.

    BadInput, with the names of a few, where there is none.
    """
    named = {_plain(reed.label): reed for reed in instrument.reeds}
    named |= {str(reed.ordinal): reed for reed in instrument.reeds} | named
    if found := named.get(_plain(words)):
        return found
    some = ", ".join(f'"{reed.label}"' for reed in instrument.reeds[:3])
    raise BadInput(
        f"{instrument.layout.id} has no reed {shown(words)}: name it as the plan does ({some}), "
        f"or by its ordinal, 0 to {len(instrument.reeds) - 1}"
    )


def _plain(words: str) -> str:
    return " ".join(words.replace(",", " ").lower().split())


def why_lines(plan: Plan, item: Item, slope: Slope | None, width: int) -> list[str]:
    """One reed's line in full, as lines of at most `width` characters, 40 at least. `slope`: pitch against level."""
    reed = item.reed
    lines = [
        f"{reed.label}, {reed.note}, {plan.instrument.layout.plate_name(reed.plate)}: {item.verdict}, {item.action}"
    ]
    for about, said in _told(plan, item, slope):
        lines += textwrap.wrap(
            clean(f"{about:<{LEFT}}{said}"), max(width, 40), subsequent_indent=" " * LEFT, break_long_words=False
        )
    return lines


def why_as_dict(plan: Plan, item: Item, slope: Slope | None) -> dict[str, Any]:
    """The same for other programs."""
    back = plan.back.get(item.action)
    return {
        "reed": reed_as_dict(item),
        "tolerance_cents": plan.instrument.order.tolerance_cents,
        "causes": [{"sign": one.sign, "look": list(one.look), "why": one.why} for one in item.causes],
        "cents_per_percent": round(item.zone.gain(PERCENT), 3) if item.zone else None,
        "offset_cents": round(item.offset.cents, 3) if item.offset else None,
        "offset_u95_cents": round(item.offset.u95_cents, 3) if item.offset else None,
        "offset_learned_from": item.offset.learned if item.offset else "",
        "left_to_settle_cents": round(item.left_to_settle_cents, 3),
        "settled_cents": round(back.cents, 3) if back else None,
        "settled_reeds": back.reeds if back else 0,
        "settles_later": [settled_as_dict(one) for one in back.later] if back else [],
        **slope_as_dict(slope),
        "together": [together_as_dict(one) for one in _with(plan, item)],
    }


def _told(plan: Plan, item: Item, slope: Slope | None) -> Iterator[tuple[str, str]]:
    """What there is to say about a reed: (about what, the sentence)."""
    reading = item.reading
    yield "target", f"{item.reed.target_hz:.3f} Hz"
    if item.hz is not None and reading.cents is not None and reading.u95_cents is not None:
        clock = f", {reading.clock_u95_cents:.1f} of it the meter's clock" if reading.clock_u95_cents else ""
        yield "reads", f"{item.hz:.3f} Hz, {signed(reading.cents)} ± {reading.u95_cents:.1f} cents{clock}"
    if reading.agreeing:
        yield "takes", f"it stands on {reading.takes_words}"
    for left in reading.left_out:
        of_survey = f" of survey {left.survey}" if left.survey else ""
        yield "", f"take {left.number}{of_survey} left out: {left.why}"
    if slope:
        louder = f"{signed(slope.cents_per_db, 2)} ± {slope.u95_cents_per_db:.2f} cents"
        yield "louder", f"{louder} a decibel, inside its takes; not allowed for"
    if reading.cents is not None and reading.u95_cents is not None:
        yield "tolerance", _tested(abs(reading.cents), reading.u95_cents, plan.instrument.order.tolerance_cents)
    for place, cause in enumerate(item.causes):
        yield "" if place else "look", cause.why
    if not item.causes:
        yield "so", item.why
    if item.jobs:
        yield "then", "; ".join(JOBS[job] for job in item.jobs)
    yield from _metal(plan, item)
    for place, one in enumerate(one for one in _with(plan, item) if one.now_hz is not None):
        other = one.upper if one.lower.ordinal == item.reed.ordinal else one.lower
        once = ", one breath" if one.at_once else ""
        yield "" if place else "together", f"{one.interval.name} with {other.label}{once}: {one.words}"


def _tested(off: float, u95: float, tolerance: float) -> str:
    most, least = off + u95, off - u95
    if most <= tolerance:
        return f"{off:.2f} + {u95:.2f} = {most:.2f} cents at most, inside {tolerance:g}"
    if least > tolerance:
        return f"{off:.2f} − {u95:.2f} = {least:.2f} cents at least, outside {tolerance:g}"
    return f"between {max(0.0, least):.2f} and {most:.2f} cents from the target: {tolerance:g} lies between"


def _metal(plan: Plan, item: Item) -> Iterator[tuple[str, str]]:
    """Where, how much and how far, of a reed that is to be moved."""
    if item.stop_cents is None:
        return
    mass = f"about {item.tip_mass_percent:.1f} % of the tongue's own" if item.tip_mass_percent else ""
    if item.zone and item.thinner_percent is not None:
        gain = f"1 % thinner there moves a plain tongue {signed(item.zone.gain(PERCENT))} cents"
        yield "where", f"{item.where}; {gain}, so about {item.thinner_percent:.1f} % for this pass"
        if mass:
            yield "or", f"mass on its tip in place of that, {mass}"
    else:
        yield "where", f"{item.where}, {mass}; a little at a time"
    if item.strokes:
        yield "strokes", f"{item.strokes.words}, as this shop's counted passes have it"
    short = abs(item.stop_cents + item.left_to_settle_cents)
    yield "stop", f"{signed(item.stop_cents)}: {short:.1f} short of the target{_settled(plan, item)}"
    if item.offset and item.bench_stop_cents is not None:
        reads = f"{signed(item.bench_stop_cents)} ± {item.offset.u95_cents:.1f}"
        higher = f"assembled it reads {signed(item.offset.cents)} from there"
        yield "on the bench", f"stop at {reads}: {higher}, by {LEARNED[item.offset.learned]}"


def _settled(plan: Plan, item: Item) -> str:
    if not item.left_to_settle_cents:
        return ""
    back, past = plan.back[item.action], PAST[item.action]
    seen = [f"{signed(back.cents)}, as {back.reeds} reeds {past} in the last pass did"] if back.reeds else []
    seen += [
        f"{signed(one.cents)} ± {one.u95_cents:.1f} {one.when}, as {one.reeds} {past} reeds of this shop did"
        for one in back.later
    ]
    return f", and {signed(item.left_to_settle_cents)} that it is expected to move by itself ({'; '.join(seen)})"


def _with(plan: Plan, item: Item) -> list[Together]:
    return [one for one in plan.together if item.reed.ordinal in (one.lower.ordinal, one.upper.ordinal)]
