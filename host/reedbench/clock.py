"""How fast a meter's crystal runs, from sightings of its counter against this computer's clock.

A sighting is one exchange over the link: this computer's clock before and after, and the counter that the meter read
somewhere in between. Nothing is assumed about how long either way took. So each sighting is a pair of bounds on a
line, true time against the meter's time, and the slopes of all lines that keep within all bounds are what the crystal
may be. One quick exchange at each end of a long baseline is worth more than a thousand slow ones, no exchange is so
slow that it harms, and a clock that stepped in between leaves no line at all.
"""

import ctypes
import math
import time
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass

from reedbench.firmware.wire.messages import COUNTER_US

FASTEST_PPM = 500.0  # a crystal further off than this is broken, or the clock here is
BASELINE_S = 20.0  # less says nothing
MOVED_S = 0.002  # the calendar against the running clock: more is a step, not a reading apart
# From memory:
HOST_U_PPM = 1.0  # rate of a computer's clock that is held by a time server, standard uncertainty
WANDER_U_PPM = 2.0  # ... of a crystal between two days at a bench, with their temperatures, and of its age
_UNHELD = 5  # TIME_ERROR of ntp_gettime: nobody holds the clock


@dataclass(frozen=True)
class Sighting:
    """One exchange. `began_s`: when this computer booted, by its own calendar, which moves only if that is set."""

    asked_s: float  # seconds since 1970 by this computer
    answered_s: float
    boot: int  # tells one run of the meter from another
    up_s: int  # whole seconds from the meter's power-up
    meter_us: int  # the meter's counter, 0 to COUNTER_US - 1
    began_s: float
    held: bool = True  # whether a time server held this computer's clock


@dataclass(frozen=True)
class Rate:
    """How much faster than it should a crystal runs, parts per million, and the standard uncertainty of that."""

    ppm: float
    u_ppm: float
    baseline_s: float


def running_s() -> float:
    """Seconds that this computer has run, asleep or not where the system can tell."""
    if hasattr(time, "CLOCK_BOOTTIME"):
        return time.clock_gettime(time.CLOCK_BOOTTIME)
    return time.monotonic()


def held() -> bool:
    """Whether a time server holds this computer's clock, as far as its system says; where it cannot, no."""
    with suppress(OSError, AttributeError, TypeError):
        return int(ctypes.CDLL(None).ntp_gettime(ctypes.create_string_buffer(256))) != _UNHELD
    return False


def crystal(sightings: Iterable[Sighting]) -> Rate | None:
    """What all sightings of one meter say about its crystal; None where they say nothing.

    Only those count for which a time server held the clock. Those of one run of the meter, between which the clock
    was not set either, make a baseline each.
    """
    rates = [rate(run) for run in _runs([one for one in sightings if one.held])]
    return together([one for one in rates if one])


def rate(sightings: Iterable[Sighting]) -> Rate | None:
    """The rate that sightings of one run of the meter tell; None where they are too few, too close or contradict.

    They contradict each other when the clock of this computer was set in between.
    """
    ordered = _bounding(sightings)
    if not ordered or ordered[-1].asked_s - ordered[0].asked_s < BASELINE_S:
        return None
    if any(abs(one.began_s - ordered[0].began_s) > MOVED_S for one in ordered):
        return None
    start = ordered[0]
    meter = [_gone_s(start, one) for one in ordered]
    low = [one.asked_s - start.asked_s - gone for one, gone in zip(ordered, meter, strict=True)]
    high = [one.answered_s - start.asked_s - gone for one, gone in zip(ordered, meter, strict=True)]
    # True time less the meter's is offset - rate * meter's time. Any later sighting and any earlier one bound the rate:
    # what the crystal gained between them is at least the one's least minus the other's most, and the other way round.
    pairs = [(n, m) for m in range(len(meter)) for n in range(m) if meter[m] > meter[n]]
    least = max([-FASTEST_PPM, *(1e6 * (low[n] - high[m]) / (meter[m] - meter[n]) for n, m in pairs)])
    most = min([FASTEST_PPM, *(1e6 * (high[n] - low[m]) / (meter[m] - meter[n]) for n, m in pairs)])
    if least > most:
        return None
    return Rate((least + most) / 2, math.hypot((most - least) / 2 / math.sqrt(3), HOST_U_PPM), max(meter))


def together(rates: Sequence[Rate]) -> Rate | None:
    """What several baselines, of several days perhaps, say together; None where there is none.

    Weighted by their uncertainties. Where they scatter by more than these allow, as a crystal does with its
    temperature, the scatter counts (Birge's ratio).
    """
    if not rates:
        return None
    weights = [one.u_ppm**-2 for one in rates]
    mean = sum(weight * one.ppm for weight, one in zip(weights, rates, strict=True)) / sum(weights)
    u = 1 / math.sqrt(sum(weights))
    if len(rates) > 1:
        squares = sum(weight * (one.ppm - mean) ** 2 for weight, one in zip(weights, rates, strict=True))
        u *= max(1.0, math.sqrt(squares / (len(rates) - 1)))
    # The computer's own clock is the same in all of them.
    return Rate(mean, max(u, HOST_U_PPM), max(one.baseline_s for one in rates))


def binding(sightings: Iterable[Sighting]) -> list[Sighting]:
    """Those of one session that any line can touch: what the others say, these say too. In the meter's order."""
    return [one for run in _runs(sightings) for one in _bounding(run)]


def _runs(sightings: Iterable[Sighting]) -> list[list[Sighting]]:
    """Sightings apart by run of the meter, and by the calendar of this computer where that was set in between."""
    runs: list[list[Sighting]] = []
    for one in sorted(sightings, key=lambda one: (one.boot, one.began_s)):
        if runs and one.boot == runs[-1][-1].boot and one.began_s - runs[-1][-1].began_s <= MOVED_S:
            runs[-1].append(one)
        else:
            runs.append([one])
    return runs


def _bounding(sightings: Iterable[Sighting]) -> list[Sighting]:
    """Of one run of the meter, by its time: those on the upper edge of the lower bounds or the lower of the upper."""
    ordered = sorted(sightings, key=lambda one: one.asked_s)
    placed = sorted((_gone_s(ordered[0], one), one.asked_s, one.answered_s, n) for n, one in enumerate(ordered))
    edges = {n for _, _, n in _edge([(gone, -(asked - gone), n) for gone, asked, _, n in placed])}
    edges |= {n for _, _, n in _edge([(gone, answered - gone, n) for gone, _, answered, n in placed])}
    return [ordered[n] for *_, n in placed if n in edges]


def _edge(points: Sequence[tuple[float, float, int]]) -> list[tuple[float, float, int]]:
    """Corners of the lower edge of `points` (x, y, number), which come in order of x (Andrew's monotone chain)."""
    kept: list[tuple[float, float, int]] = []
    for x, y, number in points:
        while len(kept) > 1 and (
            (kept[-1][0] - kept[-2][0]) * (y - kept[-2][1]) <= (kept[-1][1] - kept[-2][1]) * (x - kept[-2][0])
        ):
            kept.pop()
        kept.append((x, y, number))
    return kept


def _gone_s(first: Sighting, later: Sighting) -> float:
    """Seconds from one sighting to another by the meter's counter, its new beginnings undone by its whole seconds."""
    gone = later.meter_us - first.meter_us
    about = 1_000_000 * (later.up_s - first.up_s)
    return (gone + COUNTER_US * round((about - gone) / COUNTER_US)) / 1e6
