"""All that sounds together, chords too, as tables: `reedbench plan --together`."""

from collections.abc import Iterator, Sequence
from typing import Any

from reedbench.coupling import Pair
from reedbench.output import columns
from reedbench.pair_lines import pair_as_dict, pairs_lines
from reedbench.plan import Plan
from reedbench.plan_data import together_as_dict
from reedbench.together import SEEN_HZ, Together

_HEAD = ("", "", "now", "wanted", "after")


def beats_lines(plan: Plan, pairs: Sequence[Pair], width: int) -> Iterator[str]:
    """First the pairs, by pitch; then what else one breath sounds, then what is only heard one after the other, the
    worst against its goal first."""
    if pairs:
        yield "PAIRS"
        yield from pairs_lines(pairs, width)
        yield ""
    rows = [one for one in plan.sounding(chords=True) if not one.pair]
    for title, at_once in (("IN ONE BREATH", True), ("ONE AFTER THE OTHER", False)):
        if found := [one for one in rows if one.at_once == at_once]:
            yield f"{title}, beats a second, below zero where it is narrow"
            yield from columns([_HEAD, *map(_row, found)])
            yield ""
    yield "Now: by the readings. Wanted: by the targets. After: when this pass is done."


def beats_as_dict(plan: Plan, pairs: Sequence[Pair]) -> dict[str, Any]:
    """The same for other programs."""
    return {
        "together": [together_as_dict(one) for one in plan.sounding(chords=True)],
        "pairs": [pair_as_dict(one) for one in pairs],
    }


def _row(one: Together) -> tuple[str, ...]:
    rates = (one.now_hz, one.wanted_hz, one.after_hz)
    return f"{one.lower.label} with {one.upper.label}", one.interval.name, *map(_rate, rates)


def _rate(hz: float | None) -> str:
    if hz is None:
        return "-"
    return "0.0" if abs(hz) < SEEN_HZ else f"{hz:.1f}"
