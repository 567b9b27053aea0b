"""The pairs on the sheet: beats a second against the note, the curve that is wanted and the readings on it.

In drawing units; the template only writes it down as SVG. Notes run to the right, a fixed width for each semitone.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from reedbench.coupling import Pair
from reedbench.pair_lines import HEAD, kind_of, row
from reedbench.tuning import note_name

WIDTH, HEIGHT, LEFT, BELOW, ABOVE = 720.0, 240.0, 36.0, 26.0, 12.0
TALLEST_BAR = 3.0  # beats a second: an uncertainty beyond this is cut


@dataclass(frozen=True)
class Dot:
    """One pair's beat: `together` filled, from single readings hollow; `high` to `low` its uncertainty."""

    x: float
    y: float
    high: float
    low: float
    together: bool


@dataclass(frozen=True)
class PairDrawing:
    """Curve (SVG path), dots, and the axes' ticks as (place, word); the table below."""

    title: str
    width: float
    height: float
    left: float
    bottom: float
    curve: str
    dots: tuple[Dot, ...]
    notes: tuple[tuple[float, str], ...]
    rates: tuple[tuple[float, str], ...]
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def drawings(pairs: Sequence[Pair]) -> list[PairDrawing]:
    """A drawing for each bank or member that is tuned against another."""
    kinds: dict[str, list[Pair]] = {}
    for one in pairs:
        kinds.setdefault(kind_of(one), []).append(one)
    return [_drawing(title, of_kind) for title, of_kind in kinds.items()]


def _drawing(title: str, pairs: Sequence[Pair]) -> PairDrawing:
    first, last = pairs[0].base.reed.midi, pairs[-1].base.reed.midi
    wanted = [abs(one.apart.wanted_hz) for one in pairs]
    top = max(1.0, math.ceil(1.1 * max(wanted + [abs(one.beat_hz or 0.0) for one in pairs])))
    bottom = HEIGHT - BELOW

    def x(midi: int) -> float:
        return LEFT + 14 + (WIDTH - LEFT - 28) * (midi - first) / max(1, last - first)

    def y(rate: float) -> float:
        return bottom - (bottom - ABOVE) * min(rate, top) / top

    def dot(one: Pair) -> Dot:
        beat, bar = abs(one.beat_hz or 0.0), min(TALLEST_BAR, one.u95_hz or 0.0)
        return Dot(x(one.base.reed.midi), y(beat), y(beat + bar), y(max(0.0, beat - bar)), one.heard_hz is not None)

    curve = "L".join(f"{x(one.base.reed.midi):.1f} {y(rate):.1f}" for one, rate in zip(pairs, wanted, strict=True))
    return PairDrawing(
        title=title,
        width=WIDTH,
        height=HEIGHT,
        left=LEFT,
        bottom=bottom,
        curve="M" + curve,
        dots=tuple(dot(one) for one in pairs if one.beat_hz is not None),
        notes=tuple((x(midi), note_name(midi)) for midi in range(first, last + 1) if midi % 12 in (0, 9)),
        rates=tuple((y(rate), str(rate)) for rate in range(0, int(top) + 1, max(1, round(top / 6)))),
        head=HEAD,
        rows=tuple(row(one) for one in pairs),
    )
