"""How a reed's pitch moves with its loudness, seen inside its takes.

Between takes the meter is never equally near, so that levels of two takes say nothing about how hard either was blown.
Inside one nothing moves but the breath: its trace has pitch and level at the same points, and a reed that is blown
harder there reads otherwise, mostly lower (reed-organ reeds: about linearly through the playing range; Koopman,
Hanzelka, Cottingham, ASA 1996, 3aED2). It is shown, so that somebody can tell a player's breath from a reed's
mistuning, and never applied.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from reedbench.ledger import Trace
from reedbench.reading import Take
from reedbench.repeatability import Repeatability

Floats = NDArray[np.float64]

LEAST_DB = 0.5  # RMS, by which the level must have moved in the takes to say anything: two steps of the trace
LEAST_TAKES = 2
LEAST_POINTS = 4.0  # as good as independent


@dataclass(frozen=True)
class Slope:
    """Cents that a reed's pitch moves for a decibel more, with its 95 % uncertainty."""

    cents_per_db: float
    u95_cents_per_db: float


def slope(traces: Iterable[tuple[Sequence[float], Sequence[float]]]) -> Slope | None:
    """The slope common to the takes of one reed, each with a pitch (cents) and level (decibels) of its own.

    Least squares. Points of a trace are not independent, so they count for as many as their autocorrelation leaves.
    None where the level hardly moved, and of a single take, whose slow wandering may look like a slope.
    """
    centred = [(np.subtract(c, np.mean(c)), np.subtract(d, np.mean(d))) for c, d in traces]
    if len(centred) < LEAST_TAKES:
        return None
    pitch, level = (np.concatenate(part) for part in zip(*centred, strict=True))
    moved = float(level @ level)
    if moved < LEAST_DB**2 * len(level):
        return None
    found = float(pitch @ level) / moved
    left = [c - found * d for c, d in centred]
    points = len(level) * _independent(left)
    freedom = points - len(centred) - 1
    if freedom < LEAST_POINTS:
        return None
    variance = sum(float(r @ r) for r in left) / len(level) * points / freedom
    deviation = math.sqrt(variance / (moved / len(level) * points))
    return Slope(found, Repeatability(deviation, freedom, 0.0).student * deviation)


def _independent(left: Sequence[Floats]) -> float:
    """Share of the points that count, by what each leaves of the next (first-order autoregression).

    Seen from n points of which the mean was taken off, that is too small by (1 + 4 of it) / n (Kendall 1954, from
    memory).
    """
    alone = sum(float(r @ r) for r in left)
    if not alone:
        return 1.0
    seen = sum(float(r[:-1] @ r[1:]) for r in left) / alone
    count = len(left[0])
    kept = min(0.97, max(0.0, (seen * count + 1) / (count - 4)))
    return (1 - kept) / (1 + kept)


def slopes(takes: Iterable[Take], traces: Mapping[int, Trace]) -> dict[int, Slope]:
    """The slope of each reed that has one, by ordinal. `traces` by the sequence of the take."""
    by_reed: dict[int, list[tuple[list[float], list[float]]]] = {}
    for take in takes:
        if take.trusted and not take.withdrawn and (trace := traces.get(take.sequence)):
            by_reed.setdefault(take.ordinal, []).append((trace.cents, trace.decibels))
    found = {ordinal: slope(kept) for ordinal, kept in by_reed.items()}
    return {ordinal: one for ordinal, one in found.items() if one}


def slope_as_dict(slope: Slope | None) -> dict[str, Any]:
    """How the pitch of a reed goes with its loudness, for `--json`."""
    return {
        "cents_per_db": round(slope.cents_per_db, 3) if slope else None,
        "u95_cents_per_db": round(slope.u95_cents_per_db, 3) if slope else None,
    }
