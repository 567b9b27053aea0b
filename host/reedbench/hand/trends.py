"""What a past shows beyond its passes: how worked reeds settle with time, how well surveys repeat, which reeds tire."""

from collections.abc import Iterable
from dataclasses import dataclass
from statistics import median

from reedbench.causes import SINKS_CENTS
from reedbench.hand.past import Moved, Past, Stretch
from reedbench.hand.settled import summed, waits
from reedbench.instrument import InstrumentReed
from reedbench.repeatability import NORMAL
from reedbench.settling import Settled

NORMAL_TO_MIDDLE = 1.4826  # standard deviation of normal scatter against its median absolute deviation


def settled_in(past: Past) -> list[Settled]:
    """What worked reeds of this instrument did by themselves."""
    hertz = {one.survey: {n: pitch.hz for n, pitch in one.pitches.items()} for one in past.chapters}
    found = waits(chapter.survey for chapter in past.chapters)
    return summed(one for wait in found for one in wait.moved(past.instrument, hertz.__getitem__))


def repeats_cents(stretches: Iterable[Stretch]) -> float | None:
    """How far reeds that were left alone read apart from one survey to the next, RMS; None where none were."""
    alone = [abs(one.move.cents) for stretch in stretches for one in stretch.of("")]
    return NORMAL_TO_MIDDLE * median(alone) if len(alone) > 1 else None


@dataclass(frozen=True)
class Tiring:
    """A reed that sinks when nothing is done to it."""

    reed: InstrumentReed
    lost_cents: float  # in all, while it was left alone, beyond what the others did
    u95_cents: float
    surveys: int  # over how many
    years: float | None  # that they span, where they are dated
    raises: int  # passes that raised it


def tiring(past: Past) -> list[Tiring]:
    """The reeds that lost more than is usual over three surveys or more, the worst first.

    What a reed lost at once does not count by itself: that is an accident, or dirt; one that tires sinks repeatedly.
    """
    by_reed: dict[int, list[tuple[Stretch, Moved]]] = {}
    for stretch in past.stretches:
        for one in stretch.moved:
            by_reed.setdefault(one.reed.ordinal, []).append((stretch, one))
    found = []
    for reed in past.instrument.reeds:
        alone = by_reed.get(reed.ordinal, [])
        own = [(s, one.move) for s, one in alone if not one.action]
        if len(own) < 2:
            continue
        lost = -sum(move.cents for _, move in own)
        u95 = NORMAL * sum(move.u_cents**2 for _, move in own) ** 0.5
        at_once = max(-move.cents for _, move in own)
        if lost <= max(SINKS_CENTS, u95) or lost - at_once <= max(SINKS_CENTS / 2, u95):
            continue
        days = [s.days for s, _ in own]
        years = None if None in days else sum(day for day in days if day is not None) / 365.25
        raises = sum(one.action == "raise" for _, one in alone)
        found.append(Tiring(reed, lost, u95, len(own) + 1, years, raises))
    return sorted(found, key=lambda one: one.lost_cents, reverse=True)
