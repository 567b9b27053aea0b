"""How well a survey repeats itself: the scatter between takes of one reed, pooled over all its reeds.

One reed has two or three takes, too few to tell its own scatter; sixty reeds have enough together. The
pooled variance (NIST TN 1297, Type A; GUM 4.2.4) is shrunk towards what re-attacks of sound reeds usually
show, with the weight of a few takes, so that a survey of two reeds does not claim a scatter of zero.

Takes count only where they agree, so a wide pair never enters and the pooled variance comes out too small;
since the limit of agreement is known, that is undone here.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

NORMAL = 1.959964  # coverage factor of 95 % where the standard deviation is known
USUAL_CENTS = 0.4  # "a few tenths of a cent" between takes: common practice, no source
USUAL_FREEDOM = 3.0  # weight of that expectation, in degrees of freedom


@dataclass(frozen=True)
class Repeatability:
    """Standard deviation between takes, beyond their own standard errors."""

    cents: float
    freedom: float  # degrees of freedom behind it

    @property
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


def pooled(groups: Iterable[Sequence[tuple[float, float]]], limit_cents: float) -> Repeatability:
    """Repeatability of a survey from its reeds' agreeing takes, each (cents, standard error in cents).

    `limit_cents` is the largest difference at which two takes agree.
    """
    squares = own = freedom = 0.0
    for takes in groups:
        if len(takes) < 2:
            continue
        mean = sum(cents for cents, _ in takes) / len(takes)
        squares += sum((cents - mean) ** 2 for cents, _ in takes)
        own += sum(se**2 for _, se in takes) * (len(takes) - 1) / len(takes)
        freedom += len(takes) - 1
    usual = USUAL_FREEDOM * USUAL_CENTS**2
    if not freedom:
        return Repeatability(USUAL_CENTS, USUAL_FREEDOM)
    seen = untruncated(squares / freedom, limit_cents)
    between = max(0.0, seen - own / freedom)
    total = USUAL_FREEDOM + freedom
    return Repeatability(math.sqrt((usual + freedom * between) / total), total)


def untruncated(variance: float, limit: float) -> float:
    """Variance of takes, from the `variance` seen in pairs that differ by at most `limit`.

    A normal difference of standard deviation s, kept only within plus or minus k s, has the variance
    s^2 (1 - 2 k p(k) / (2 P(k) - 1)). Where the scatter reaches the limit itself the pairs no longer tell how
    large it is; the limit is then taken as the scatter.
    """
    low, high = variance, limit**2
    if _seen(high, limit) <= variance:
        return high
    while high - low > 1e-9 * high:
        middle = (low + high) / 2
        if _seen(middle, limit) < variance:
            low = middle
        else:
            high = middle
    return high


def _seen(variance: float, limit: float) -> float:
    """Variance seen in pairs that differ by at most `limit`, when takes have the given `variance`."""
    if variance <= 0:
        return 0.0
    k = limit / math.sqrt(2 * variance)
    density = math.exp(-k * k / 2) / math.sqrt(2 * math.pi)
    return variance * (1 - 2 * k * density / math.erf(k / math.sqrt(2)))
