"""How fast a meter's crystal runs, from sightings of its counter against this computer's clock.

A sighting is one exchange over the link: this computer's clock before and after, and the counter that the meter read
somewhere in between. Nothing is assumed about how long either way took. So each sighting is a pair of bounds on a
line, true time against the meter's time, and the slopes of all lines that keep within all bounds are what the crystal
may be: a linear programme. One quick exchange at each end of a long baseline is worth more than a thousand slow
ones, no exchange is so slow that it harms, and a clock that stepped in between leaves no line at all.
"""

import ctypes
import math
import time
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linprog

COUNTER_US = 1 << 30  # the meter's counter begins again there (MicroPython's ticks_us)
FASTEST_PPM = 500.0  # a crystal further off than this is broken, or the clock here is
BASELINE_S = 20.0  # less says nothing
HOST_U_PPM = 1.0  # rate of a computer's clock that is held by a time server: from memory
MOVED_S = 0.002  # the calendar against the running clock: more is a step, not a reading apart
_UNHELD = 5  # TIME_ERROR of ntp_gettime: nobody holds the clock


@dataclass(frozen=True)
class Sighting:
    """One exchange. `began_s`: when this computer booted, by its own calendar, which moves only if that is set."""

    asked_s: float  # seconds since 1970 by this computer
    answered_s: float
    meter_us: int  # the meter's counter, 0 to COUNTER_US - 1
    began_s: float


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


def rate(sightings: Iterable[Sighting]) -> Rate | None:
    """The rate that sightings of one boot of the meter tell; None where they are too few, too close or contradict.

    They contradict each other when the clock of this computer was set in between, or the meter was restarted.
    """
    ordered = sorted(sightings, key=lambda one: one.asked_s)
    if not ordered or ordered[-1].asked_s - ordered[0].asked_s < BASELINE_S:
        return None
    if any(abs(one.began_s - ordered[0].began_s) > MOVED_S for one in ordered):
        return None
    meter = np.array(_unwrapped(ordered))
    start = ordered[0].asked_s
    low = np.array([one.asked_s - start for one in ordered]) - meter
    high = np.array([one.answered_s - start for one in ordered]) - meter
    # True time = offset + meter - slow * meter, between low + meter and high + meter; in milliseconds and parts per
    # million, so that both unknowns are of ordinary size.
    lines = np.column_stack([np.full(len(meter), 1e-3), -1e-6 * meter])
    ends = [_extreme(sign, np.vstack([lines, -lines]), np.concatenate([high, -low])) for sign in (1.0, -1.0)]
    if ends[0] is None or ends[1] is None:
        return None
    half = abs(ends[1] - ends[0]) / 2
    return Rate((ends[0] + ends[1]) / 2, math.hypot(half / math.sqrt(3), HOST_U_PPM), float(meter[-1]))


def together(rates: Sequence[Rate]) -> Rate | None:
    """What several baselines, of several days perhaps, say together; None where there is none.

    Weighted by their uncertainties. Where they scatter by more than these allow, as a crystal does with its
    temperature, the scatter counts (Birge's ratio).
    """
    if not rates:
        return None
    weights = np.array([one.u_ppm**-2 for one in rates])
    ppm = np.array([one.ppm for one in rates])
    mean = float(np.average(ppm, weights=weights))
    u = math.sqrt(1 / float(weights.sum()))
    if len(rates) > 1:
        u *= max(1.0, math.sqrt(float((weights * (ppm - mean) ** 2).sum()) / (len(rates) - 1)))
    # The computer's own clock is the same in all of them.
    return Rate(mean, max(u, HOST_U_PPM), max(one.baseline_s for one in rates))


def _unwrapped(ordered: Sequence[Sighting]) -> list[float]:
    """The meter's time at each sighting in seconds from the first, its counter's new beginnings undone.

    A crystal is never so far off that more than half a round could be in doubt before some days have gone.
    """
    times = [0.0]
    for before, after in pairwise(ordered):
        gone = (after.meter_us - before.meter_us) / 1e6
        expected = (after.asked_s + after.answered_s - before.asked_s - before.answered_s) / 2
        times.append(times[-1] + gone + COUNTER_US / 1e6 * round((expected - gone) / (COUNTER_US / 1e6)))
    return times


def _extreme(sign: float, lines: NDArray[np.float64], bounds: NDArray[np.float64]) -> float | None:
    """The least (sign 1) or greatest (-1) slope in parts per million within all bounds; None where there is none."""
    free = (None, None)
    found = linprog([0.0, sign], A_ub=lines, b_ub=bounds, bounds=[free, (-FASTEST_PPM, FASTEST_PPM)], method="highs")
    return float(found.x[1]) if found.status == 0 else None
