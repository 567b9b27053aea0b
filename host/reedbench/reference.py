"""Which reference A costs least: how much work an instrument needs at each, from one survey's readings.

An instrument that has gone flat as a whole agrees with itself better than with the world. At the A that it has come
to, few reeds are off; at the one that was ordered, most may be. Every reed's target, the second reed of a tremolo pair
included, is a straight line in A, so two sets of targets give those at any A.
"""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from reedbench.errors import BadInput
from reedbench.instrument import Instrument
from reedbench.reading import Reading
from reedbench.tuning import REFERENCE_HZ, raised

STEP_HZ = 0.1

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Cost:
    """The work that an instrument needs at one reference A. Moves are of the reeds that are off, to their targets."""

    reference_hz: float
    off: int  # reeds whose pitch must be moved
    lower: int  # those of them that must come down, which means metal off at the rivet
    unsure: int  # reeds that another take must decide
    good: int
    unread: int  # reeds without a reading, or left out of the count: the same at every A
    total_cents: float  # all moves together, whichever way
    most_up_cents: float  # the largest move up; 0 where none is needed
    most_down_cents: float  # the largest move down, as a number above zero
    mean_cents: float  # how far all reeds that are read lie from their targets, on average, whichever way

    @property
    def burden(self) -> tuple[float, int, float]:
        """What is compared: reeds to be worked on, an unsure one as half; those to come down; how far all lie away."""
        return self.off + self.unsure / 2, self.lower, self.mean_cents


def costs(
    instrument: Instrument,
    readings: Mapping[int, Reading],
    low_hz: float,
    high_hz: float,
    apart: Collection[int] = (),
) -> list[Cost]:
    """The cost of every A from `low_hz` to `high_hz` in steps of 0.1 Hz.

    `apart`: ordinals of reeds that want something else first, whose readings would mislead. BadInput where the range
    is none, or leaves what an order may ask for.
    """
    if not REFERENCE_HZ[0] <= low_hz <= high_hz <= REFERENCE_HZ[1]:
        raise BadInput(
            f"a range of A runs from {REFERENCE_HZ[0]:g} to {REFERENCE_HZ[1]:g} Hz at most, its lower end first, "
            f"and not from {low_hz:g} to {high_hz:g}"
        )
    count = math.floor((high_hz - low_hz) / STEP_HZ + 1e-6) + 1
    references = np.round(low_hz + STEP_HZ * np.arange(count), 6)
    return _costs(instrument, readings, references, apart)


def least(found: Sequence[Cost], ordered_hz: float) -> Cost:
    """The least burden; of several alike the one nearest to the A that was ordered."""
    return min(found, key=lambda cost: (*cost.burden, abs(cost.reference_hz - ordered_hz)))


def own(instrument: Instrument, readings: Mapping[int, Reading], apart: Collection[int] = ()) -> Cost | None:
    """The least burden at any A: what it takes to bring the instrument only to agree with itself.

    None where no reed has a reading, or what they read leaves what an order may ask for.
    """
    ordered = instrument.order.reference_hz
    read = [one.cents for one in readings.values() if one.cents is not None and one.ordinal not in apart]
    if not read:
        return None
    # At the best A some reeds are too high and some too low, or all are good: it lies between the extremes.
    margin = instrument.order.tolerance_cents
    low = max(REFERENCE_HZ[0], raised(ordered, min(read) - margin))
    high = min(REFERENCE_HZ[1], raised(ordered, max(read) + margin))
    steps = np.arange(math.ceil(low / STEP_HZ), math.floor(high / STEP_HZ) + 1)
    found = _costs(instrument, readings, np.round(steps * STEP_HZ, 6), apart)
    return least(found, ordered) if found else None


def _costs(
    instrument: Instrument, readings: Mapping[int, Reading], references: Floats, apart: Collection[int]
) -> list[Cost]:
    hz, u95, targets = _lines(instrument, readings, references, apart)
    errors = 1200 * np.log2(hz / targets)  # (references, reeds)
    tolerance = instrument.order.tolerance_cents
    is_off = np.abs(errors) - u95 > tolerance
    good = np.abs(errors) + u95 <= tolerance
    moves = np.where(is_off, -errors, 0.0)
    unread = len(instrument.reeds) - len(hz)
    columns = zip(
        references.tolist(),
        is_off.sum(1).tolist(),
        (moves < 0).sum(1).tolist(),
        (~is_off & ~good).sum(1).tolist(),
        good.sum(1).tolist(),
        np.abs(moves).sum(1).tolist(),
        moves.max(1, initial=0.0).tolist(),
        np.abs(moves.min(1, initial=0.0)).tolist(),
        (np.abs(errors).sum(1) / max(1, len(hz))).tolist(),
        strict=True,
    )
    return [
        Cost(reference, off, lower, unsure, well, unread, total, up, down, mean)
        for reference, off, lower, unsure, well, total, up, down, mean in columns
    ]


def _lines(
    instrument: Instrument, readings: Mapping[int, Reading], references: Floats, apart: Collection[int]
) -> tuple[Floats, Floats, Floats]:
    """(hertz read, u95 in cents, targets in hertz of shape (references, reeds)) of the reeds that are read."""
    order = instrument.order
    other_hz = REFERENCE_HZ[order.reference_hz < sum(REFERENCE_HZ) / 2]  # far from the order's
    share = (references[:, None] - order.reference_hz) / (other_hz - order.reference_hz)
    kept = [
        (raised(here.target_hz, reading.cents), reading.u95_cents, here.target_hz, there_hz)
        for here, there_hz in zip(instrument.reeds, instrument.targets_at(other_hz), strict=True)
        if here.ordinal not in apart
        and (reading := readings.get(here.ordinal)) is not None
        and reading.cents is not None
        and reading.u95_cents is not None
    ]
    hz, u95, here_hz, far_hz = np.array(kept, dtype=float).reshape(-1, 4).T
    return hz, u95, here_hz + share * (far_hz - here_hz)
