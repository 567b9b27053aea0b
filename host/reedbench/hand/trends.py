"""What a past shows beyond its passes: how worked reeds settle with time, how well surveys repeat, which reeds tire."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import fmean, median

from reedbench.causes import SINKS_CENTS
from reedbench.evidence import MOVED
from reedbench.hand.past import Past, Stretch
from reedbench.instrument import InstrumentReed
from reedbench.repeatability import NORMAL, Repeatability

# Common practice, no source:
WITHIN = (("within a day", 1.0), ("within two weeks", 14.0), ("later", float("inf")))  # days between two surveys
SETTLES_CENTS = 0.8  # standard deviation of what reeds of one kind do, from shop to shop
SCATTER_CENTS = 0.6  # standard deviation about that, from reed to reed ...
SCATTER_FREEDOM = 10.0  # ... as if seen with so many degrees of freedom
NORMAL_TO_MIDDLE = 1.4826  # standard deviation of normal scatter against its median absolute deviation


@dataclass(frozen=True)
class Settled:
    """What worked reeds did from the first survey after a pass to a later one without work between."""

    action: str  # "raise" or "lower": what the pass did to them
    when: str  # one of WITHIN
    cents: float  # on average, drawn towards nought where reeds are few; above zero they went higher
    u95_cents: float
    reeds: int


def settled(stretches: Iterable[Stretch]) -> list[Settled]:
    """By what was done and by the time between; classes without reeds are left out."""
    seen: dict[tuple[str, str], list[float]] = {}
    last: dict[int, str] = {}
    for stretch in stretches:
        if stretch.worked:
            last = {one.reed.ordinal: one.action for one in stretch.moved if one.action}
            continue
        if stretch.after.survey.pass_number < stretch.before.survey.pass_number:
            last = {}  # it has been away meanwhile
        if stretch.days is None:
            continue
        when = next(name for name, most in WITHIN if stretch.days <= most)
        for one in stretch.moved:
            if action := last.get(one.reed.ordinal):
                seen.setdefault((action, when), []).append(one.move.cents)
    order = [(action, when) for action in MOVED for when, _ in WITHIN]
    return [_settled(*what, seen[what]) for what in order if what in seen]


def _settled(action: str, when: str, moved: Sequence[float]) -> Settled:
    """The mean, drawn towards nought by what is usual; what reeds differ by is pooled with what is usual too."""
    count, mean = len(moved), fmean(moved)
    freedom = SCATTER_FREEDOM + count - 1
    variance = (SCATTER_FREEDOM * SCATTER_CENTS**2 + sum((one - mean) ** 2 for one in moved)) / freedom
    kept = 1 / (1 + variance / (count * SETTLES_CENTS**2))
    spread = Repeatability((kept * variance / count) ** 0.5, freedom, 0.0)
    return Settled(action, when, kept * mean, spread.student * spread.cents, count)


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
    found = []
    for reed in past.instrument.reeds:
        alone = [(s, one) for s in past.stretches for one in s.moved if one.reed.ordinal == reed.ordinal]
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
