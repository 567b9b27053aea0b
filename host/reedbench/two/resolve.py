"""Which reeds sounded in a take, how high and how loud each was, and how fast they beat: from its baseband.

    resolve(take) -> Resolved

Several kinds of company are fitted (one reed, two, two an octave apart, three), and the simplest is taken that leaves
about as little as any. Uncertainties are of 95 % and without the clock's share, as the meter's standard errors are.
Two reeds are told apart by the beats they make while they sound: if less than about one beat fits into the span, or
the noise hides it, no pitch of either is given, but how long they would have to sound.
"""

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from reedbench.tuning import cents_between
from reedbench.two.baseband import Baseband, Real
from reedbench.two.fit import OCTAVE, ONE, PAIR, THREE, Fit, Fitter, Kind
from reedbench.two.search import Grid

WORTH = 0.35  # nepers by which a further reed must lessen what is left, on average over the harmonics
CENTS = 1200 / math.log(2)
NORMAL = 1.96  # 95 % of a normal distribution lie within so many standard deviations
FLOOR_CENTS = 0.0025  # standard uncertainty that the fit cannot see: what a swaying breath hides, whole numbers
TOLD_CENTS = 1.0  # a reed is told from its partner with an uncertainty of at most this, ...
TOLD_SHARE = 0.3  # ... and at most this share of their distance
BEATS_LEAST = 1.0  # as many fit into a span that surely tells two reeds apart
POINTS_LEAST = 8
SLOW_BEATS = 0.5  # with fewer in the span, two tones may stand for one that the breath moves
FAINTEST_DB = -20.0  # against the loudest: fainter ones may be what breath does to a loud one
FAINTEST_THIRD_DB = -13.0  # and this the part of a pair's own unsteadiness
ODD_LEFT = 0.03  # of its power: a reed that has less in the odd harmonics is an octave above ...
ODD_LEAST = 0.1  # ... one that has this much


@dataclass(frozen=True)
class Reed:
    """One of the reeds: its pitch, the 95 % uncertainty of that, and its level against the strongest one's."""

    hz: float
    u95_cents: float
    level_db: float


@dataclass(frozen=True)
class Beat:
    """How fast two neighbouring reeds beat, and the 95 % uncertainty of that."""

    hz: float
    u95_hz: float


@dataclass(frozen=True)
class Resolved:
    """What sounded. `kind`: "one", "pair", "octave" or "three". `reeds`: the lowest first; of an octave the lower one
    first; none where they could not be told apart. `beats`: of each with the next. `wanted_s`: where they could not,
    how long they would have to sound; 0 where nobody can say."""

    kind: str
    span_s: float
    reeds: tuple[Reed, ...]
    beats: tuple[Beat, ...]
    wanted_s: float = 0.0

    @property
    def told(self) -> bool:
        """Whether the reeds could be told apart."""
        return bool(self.reeds)

    @property
    def octave(self) -> bool:
        """Whether they are two an octave apart."""
        return self.kind == OCTAVE.name

    @property
    def words(self) -> str:
        """What a longer span would do, for people; empty where the reeds were told apart."""
        if self.told:
            return ""
        if self.wanted_s:
            return f"too close to tell apart in {self.span_s:.1f} s: hold them for {self.wanted_s:.1f} s"
        return f"not told apart in {self.span_s:.1f} s: hold them longer, nearer to the meter"


def resolve(take: Baseband) -> Resolved:
    """What sounded in `take`."""
    if take.count < POINTS_LEAST:
        return Resolved(PAIR.name, take.span_s, (), ())
    fitter, grid = Fitter(take), Grid(take)

    def fit(kind: Kind) -> Fit:
        return fitter.fit(kind, grid.starts(kind))

    candidates, pair = [fit(ONE)], fit(PAIR)
    if _faintest_db(pair) > FAINTEST_DB:
        is_octave = _is_octave(pair)
        if is_octave or not _stated(take, pair).told:
            octave = fit(OCTAVE)
            if _faintest_db(octave) > FAINTEST_DB:
                candidates.append(octave)
        if not is_octave:
            candidates.append(pair)
            three = fit(THREE)
            if _faintest_db(three) > FAINTEST_THIRD_DB:
                candidates.append(three)
    return _stated(take, min(candidates, key=lambda one: _cost(take, one)))


def _faintest_db(fit: Fit) -> float:
    """Level of the faintest reed against the loudest one."""
    return 10 * math.log10(float(np.min(fit.powers) / np.max(fit.powers)) + 1e-12)


def _is_octave(pair: Fit) -> bool:
    """Whether one of two reeds has next to no part in the odd harmonics, where the other one sounds."""
    shares = np.sort(pair.odd / pair.powers)
    return bool(shares[0] < ODD_LEFT and shares[1] > ODD_LEAST)


def _cost(take: Baseband, fit: Fit) -> float:
    """Misfit and what each number more must be worth (Schwarz, Ann. Stat. 6(2), 1978, 461), and each reed more."""
    measured = 2 * take.count * len(take.harmonics)
    numbers = sum(2 * len(fit.kind.sounds(k)) for k in take.harmonics) + len(fit.kind.octaves)
    return fit.misfit + numbers * math.log(measured) + WORTH * measured * (len(fit.kind.octaves) - 1)


def _stated(take: Baseband, fit: Fit) -> Resolved:
    octaves = np.array(fit.kind.octaves)
    hz = octaves * (take.oscillator_hz + fit.offsets_hz)
    covariance = fit.covariance * np.outer(octaves, octaves)
    order = np.argsort(hz)
    loudest = float(np.max(fit.powers))
    reeds = tuple(
        Reed(
            float(hz[r]),
            _u95_cents(float(hz[r]), float(covariance[r, r]), fit.free),
            10 * math.log10(float(fit.powers[r]) / loudest + 1e-12),
        )
        for r in order
    )
    beats = tuple(_beat(fit, hz, covariance, low, high) for low, high in pairwise(order))
    slow = any(beat.hz * take.span_s < SLOW_BEATS for beat in beats) and fit.kind != OCTAVE
    if fit.kind == ONE or (not slow and all(_told(fit.kind, low, high) for low, high in pairwise(reeds))):
        return Resolved(fit.kind.name, take.span_s, reeds, beats)
    slowest = min(beats, key=lambda beat: beat.hz)
    known = slowest.u95_hz < slowest.hz
    wanted = max(BEATS_LEAST / slowest.hz, 1.5 * take.span_s) if known else 0.0
    return Resolved(fit.kind.name, take.span_s, (), (), wanted)


def _u95_cents(hz: float, variance: float, free: int) -> float:
    cents = cents_between(hz + math.sqrt(variance), hz)
    return _student(free) * math.hypot(cents, FLOOR_CENTS)


def _student(free: int) -> float:
    """95 % quantile of Student's distribution, close enough from 5 degrees of freedom on (Fisher and Cornish)."""
    return NORMAL * (1 + 1.21 / max(free, 3) + 1.4 / max(free, 3) ** 2)


def _beat(fit: Fit, hz: Real, covariance: Real, low: int, high: int) -> Beat:
    """Of two reeds an octave apart the second harmonic of the lower beats with the upper one."""
    doubled = 2 if fit.kind == OCTAVE else 1
    variance = covariance[high, high] + doubled**2 * covariance[low, low] - 2 * doubled * covariance[low, high]
    floor = float(hz[high]) * FLOOR_CENTS / CENTS
    return Beat(
        abs(float(hz[high] - doubled * hz[low])),
        _student(fit.free) * math.hypot(math.sqrt(max(0.0, float(variance))), floor),
    )


def _told(kind: Kind, low: Reed, high: Reed) -> bool:
    apart = abs(cents_between(high.hz, low.hz * (2 if kind == OCTAVE else 1)))
    return max(low.u95_cents, high.u95_cents) < min(TOLD_CENTS, max(TOLD_SHARE * apart, 0.1 if kind == OCTAVE else 0.0))
