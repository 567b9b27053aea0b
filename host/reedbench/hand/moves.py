"""How far each reed moved from one survey to another, beyond what all that were left alone moved."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass

from reedbench.evidence import apart
from reedbench.instrument import Instrument
from reedbench.reading import Reading
from reedbench.repeatability import NORMAL
from reedbench.tuning import cents_between, raised


@dataclass(frozen=True)
class Pitch:
    """What one reed read, and the standard uncertainty of that without the clock's share, in cents."""

    hz: float
    u_cents: float


@dataclass(frozen=True)
class Move:
    """How far a reed moved, in cents, and the standard uncertainty of that."""

    cents: float
    u_cents: float


def pitches(instrument: Instrument, readings: Mapping[int, Reading]) -> dict[int, Pitch]:
    """The reeds that were sounded and read, by ordinal."""
    found = {}
    for ordinal, one in readings.items():
        if one.cents is not None and one.u95_cents is not None and one.standing:
            own = one.u95_cents**2 - (one.clock_u95_cents or 0.0) ** 2
            hz = raised(instrument.reeds[ordinal].target_hz, one.cents)
            found[ordinal] = Pitch(hz, max(0.0, own) ** 0.5 / NORMAL)
    return found


def moves(
    before: Mapping[int, Pitch], after: Mapping[int, Pitch], worked: Collection[int]
) -> tuple[dict[int, Move], float]:
    """(how far each reed moved by itself or was moved, what all that were not `worked` have in common, in cents)."""
    both = {n: cents_between(after[n].hz, one.hz) for n, one in before.items() if n in after}
    own, common = apart(both, [n for n in both if n not in worked])
    return {n: Move(own[n], (before[n].u_cents ** 2 + after[n].u_cents ** 2) ** 0.5) for n in both}, common
