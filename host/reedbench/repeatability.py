"""How well a survey repeats itself, and how sure a reading is when some takes may be mistakes.

One reed has two or three takes, too few to tell its own scatter; sixty reeds have enough together. What two takes of a
reed differ by is either scatter, normal with the survey's own deviation, or a mistake, such as a breath that bent the
pitch or a neighbour that sounded: as likely here as there within FAR_CENTS. Deviation and share of mistakes that
explain the differences best are found together (expectation and maximisation). Only the first two takes of a reed
count, whether they agree or not: a third is asked for only where they do not, and a pair picked out of three lies
closer than chance has it. Both are shrunk towards what surveys usually show, so that one of two reeds does not claim to
have none; earlier surveys of the same shop, where there are, say better what is usual.

Pooled variance and coverage factor: NIST TN 1297, Type A; GUM 4.2.4.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

Point = tuple[float, float]  # (cents, standard error in cents) of a take that can be trusted

NORMAL = 1.959964  # coverage factor of 95 % where the standard deviation is known

# Common practice, no source:
FAR_CENTS = 30.0  # how far off a mistake may be, either way
EARLIER_FREEDOM = 20.0  # what earlier surveys may weigh, in degrees of freedom: breath differs from day to day
PAIRS = 4.0  # weight of the share of mistakes that is usual, in pairs of takes

_ROUNDS = 100


@dataclass(frozen=True)
class Repeatability:
    """Standard deviation between takes, beyond their own standard errors, and how many are mistakes."""

    cents: float
    freedom: float  # degrees of freedom behind it
    mistakes: float  # share of takes

    @cached_property
    def student(self) -> float:
        """Student's factor for 95 % coverage (NIST TN 1297, Table B.1), for three degrees of freedom or more.

        Expansion in 1 / freedom: Abramowitz and Stegun, Handbook of Mathematical Functions, 26.7.5.
        """
        z, n = NORMAL, self.freedom
        return (
            z
            + (z**3 + z) / (4 * n)
            + (5 * z**5 + 16 * z**3 + 3 * z) / (96 * n**2)
            + (3 * z**7 + 19 * z**5 + 17 * z**3 - 15 * z) / (384 * n**3)
            + (79 * z**9 + 776 * z**7 + 1482 * z**5 - 1920 * z**3 - 945 * z) / (92160 * n**4)
        )

    @property
    def as_usual(self) -> "Repeatability":
        """What to expect of another survey in the same shop."""
        return replace(self, freedom=min(self.freedom, EARLIER_FREEDOM))

    def weight(self, se_cents: float) -> float:
        """Weight of a take: 1 / its variance."""
        return 1 / (se_cents**2 + self.cents**2)

    def u95(self, cents: float, points: Sequence[Point]) -> float:
        """95 % uncertainty of `cents` as the pitch of a reed, from all its trusted takes, those left out too.

        Any run of takes, in order of pitch, may be the good ones and the others mistakes. Each run is as likely as it
        explains the takes; 95 % of all of them together lie within the uncertainty.
        """
        ordered = [(at, self.weight(se)) for at, se in sorted(points)]
        runs = [run for first in range(len(ordered)) for run in self._runs(ordered[first:], len(ordered))]
        highest = max(log_likely for log_likely, _, _ in runs)
        spread = [
            (math.exp(log_likely - highest), abs(mean - cents), math.sqrt(2 * variance))
            for log_likely, mean, variance in runs
            if log_likely > highest - 20  # the others are not worth counting
        ]
        wanted = 0.95 * sum(likely for likely, _, _ in spread)
        return self.student / NORMAL * _covering(wanted, spread)

    @cached_property
    def _odds(self) -> tuple[float, float]:
        """Logarithms of how likely a good take is at its best, and a mistake anywhere."""
        good = math.log(1 - self.mistakes) - math.log(2 * math.pi) / 2
        return good, math.log(self.mistakes / (2 * FAR_CENTS))

    def _runs(self, ordered: Sequence[tuple[float, float]], count: int) -> Iterable[tuple[float, float, float]]:
        """(log of likelihood, mean, variance) of each run of good takes that begins with the first of `ordered`.

        Of each take: its cents and its weight.
        """
        good, bad = self._odds
        lowest = ordered[0][0]
        weights = sums = squares = logs = 0.0
        for size, (cents, weight) in enumerate(ordered, start=1):
            apart = cents - lowest
            weights += weight
            sums += weight * apart
            squares += weight * apart**2
            logs += math.log(weight) / 2
            misfit = squares - sums**2 / weights
            log_likely = size * good + (count - size) * bad + logs - math.log(weights) / 2 - misfit / 2
            yield log_likely, lowest + sums / weights, 1 / weights


def _covering(wanted: float, spread: Sequence[tuple[float, float, float]]) -> float:
    """How far either way from nought holds `wanted` of the normal distributions `spread` together.

    Of each: its weight, how far off it lies, its standard deviation times the root of 2. Newton's steps, and halving
    where one leaves what is known to hold the answer.
    """
    low, high = 0.0, max(apart + 3 * width for _, apart, width in spread)
    _, apart, width = max(spread)
    at, step = min(high, apart + NORMAL / math.sqrt(2) * width), high
    while abs(step) > 1e-4 * at:
        within = slope = 0.0
        for weight, apart, width in spread:
            below, above = (at - apart) / width, (at + apart) / width
            within += weight * (math.erf(below) + math.erf(above)) / 2
            slope += weight * (math.exp(-below * below) + math.exp(-above * above)) / (math.sqrt(math.pi) * width)
        low, high = (at, high) if within < wanted else (low, at)
        wish = at + (wanted - within) / slope if slope else low
        found = wish if low < wish < high else (low + high) / 2
        at, step = found, found - at
    return at


# "A few tenths of a cent" between takes, one take in forty a mistake: common practice, no source.
USUAL = Repeatability(cents=0.4, freedom=3.0, mistakes=0.025)


def pooled(pairs: Sequence[tuple[Point, Point]], usual: Repeatability = USUAL) -> Repeatability:
    """Repeatability of a survey from the first two trusted takes of each of its reeds, in any order."""
    differences = [((a - b) ** 2, se_a**2 + se_b**2) for (a, se_a), (b, se_b) in pairs]
    found = usual
    for _ in range(_ROUNDS):
        before = found
        sound = [_sound(square, own, before) for square, own in differences]
        excess = sum(share * (square - own) / 2 for share, (square, own) in zip(sound, differences, strict=True))
        freedom = usual.freedom + sum(sound)
        variance = (usual.freedom * usual.cents**2 + max(0.0, excess)) / freedom
        mistaken = (2 * PAIRS * usual.mistakes + len(sound) - sum(sound)) / (PAIRS + len(sound))  # pairs
        found = Repeatability(math.sqrt(variance), freedom, mistaken / 2)
        if abs(found.cents - before.cents) < 1e-5:
            break
    return found


def _sound(square: float, own: float, survey: Repeatability) -> float:
    """Probability that a difference, given its square and its takes' `own` variance, is scatter and no mistake."""
    variance = 2 * survey.cents**2 + own
    mistaken = 2 * survey.mistakes
    scatter = (1 - mistaken) * math.exp(-square / (2 * variance)) / math.sqrt(2 * math.pi * variance)
    return scatter / (scatter + mistaken / (2 * FAR_CENTS))
