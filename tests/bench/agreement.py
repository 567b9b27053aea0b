"""How well the rule of wire/agree.py asks for a third take: simulated surveys of players from steady to unsteady.

A take is the reed's pitch, what this player scatters by from breath to breath, and now and then a mistake: a breath
that bends the pitch by a cent or several, seldom a reed next to it. How much reeds differ in scatter and how often
players err is common practice, without a source.

A third take is needless where the mean of the first two lay within the uncertainty that the survey states for such a
mean. It is missed where one of the first two was a mistake, they were taken to agree, and their mean errs by more than
that.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from reedbench.firmware.wire import agree
from reedbench.repeatability import pooled

SEED = 9
PLAYERS = (0.1, 0.2, 0.35, 0.5, 0.7, 1.0)  # cents, RMS: what takes of one reed scatter by
REEDS = 48
SURVEYS = 60  # of each player
SE = 0.02  # cents: a take's own random error
REEDS_DIFFER = 0.25  # in scatter: standard deviation of the logarithm
MISTAKES = 0.03  # share of takes
NEIGHBOURS = 0.2  # share of mistakes that are another reed or noise, off by up to FAR cents
FAR = 30.0
BENT = 2.0  # cents that a bent breath is flat, on average
NEEDLESS_MOST = 5.0  # per cent of reeds
MISSED_MOST = 1.5

Point = tuple[float, float]
Rule = Callable[[float], float]  # scatter learned so far to the limit for two takes


@dataclass(frozen=True)
class Asking:
    """Of all reeds of many surveys, per cent: with a third take, a needless one, a missing one; takes per reed; RMS
    error of the readings, cents, and how many of them err by no more than stated, per cent."""

    scatter: float
    third: float
    needless: float
    missed: float
    takes: float
    rms: float
    within: float


def fixed(scatter: float) -> float:
    """The rule that it replaced: 1.5 cents for whatever player."""
    return 1.5


def learned(scatter: float) -> float:
    """The rule of wire/agree.py."""
    return float(agree.limit(SE, SE, scatter))


def asking(scatter: float, rule: Rule, rng: np.random.Generator, surveys: int = SURVEYS) -> Asking:
    """What `rule` does in surveys of a player who scatters by so much."""
    third = needless = missed = takes = within = 0
    errors = []
    for _ in range(surveys):
        reeds = [_soundings(scatter, rng) for _ in range(REEDS)]
        used = _survey(reeds, rule)
        found = pooled([(points[0], points[1]) for points, _ in reeds])
        stated = found.student * math.hypot(found.cents, SE) / math.sqrt(2)
        for (points, mistakes), group in zip(reeds, used, strict=True):
            wrong = abs(points[0][0] + points[1][0]) / 2 > stated
            asked = group.sounded > 2
            third += asked
            needless += asked and not wrong
            missed += not asked and wrong and any(mistakes[:2])
            takes += group.sounded
            if group.used:
                mean = float(np.mean([points[place][0] for place in group.used]))
                errors.append(mean)
                within += abs(mean) <= found.u95(mean, points[: group.sounded])
    share = 100 / (surveys * REEDS)
    rms = math.sqrt(float(np.mean(np.square(errors))))
    return Asking(
        scatter, third * share, needless * share, missed * share, takes * share / 100, rms, 100 * within / len(errors)
    )


@dataclass(frozen=True)
class _Group:
    sounded: int
    used: list[int]


def _soundings(scatter: float, rng: np.random.Generator) -> tuple[list[Point], list[bool]]:
    """As many takes of one reed as may be asked for, of which the truth is 0 cents, and which are mistakes."""
    own = scatter * math.exp(rng.normal(0, REEDS_DIFFER))
    mistakes = [bool(one) for one in rng.random(agree.MOST) < MISTAKES]
    return [(rng.normal(0, own) + (_mistake(rng) if one else 0.0), SE) for one in mistakes], mistakes


def _mistake(rng: np.random.Generator) -> float:
    if rng.random() < NEIGHBOURS:
        return float(rng.uniform(-FAR, FAR))
    return -float(rng.gamma(2, BENT / 2))


def _survey(reeds: Sequence[tuple[list[Point], list[bool]]], rule: Rule) -> list[_Group]:
    """How often each reed is sounded and which takes agree, as meter and host have it under `rule`."""
    scatter = agree.Scatter()
    groups = []
    for points, _ in reeds:
        limit = rule(scatter.cents)
        # As a scatter that gives the limit wanted, so that it is agree's own code that judges.
        as_scatter = math.sqrt(max(0.0, (limit / agree.TIMES) ** 2 - 2 * SE**2) / 2)
        sounded = agree.WANTED
        while agree.verdict(points[:sounded], as_scatter) == "again":
            sounded += 1
        groups.append(_Group(sounded, agree.agreeing(points[:sounded], as_scatter)))
        scatter.learn(points[:sounded])
    return groups


def table(seed: int = SEED, surveys: int = SURVEYS) -> list[tuple[Asking, Asking]]:
    """(the rule that was, the rule that is) for each player, over the same soundings."""
    return [
        (
            asking(scatter, fixed, np.random.default_rng((seed, place)), surveys),
            asking(scatter, learned, np.random.default_rng((seed, place)), surveys),
        )
        for place, scatter in enumerate(PLAYERS)
    ]


PAGE = """# When a third take is asked for

<!-- Made by `make bench` (tests/bench/agreement.py). Do not edit. -->

{surveys} simulated surveys of {reeds} reeds by each of {players} players, who differ in how far their takes of one reed
scatter; reeds scatter more or less than the player by {differ:.0f} %. {mistakes:g} % of takes are mistakes: most
a breath that bends the pitch by {bent:g} cents on average, some another reed. A third take is *needless* where the mean
of the first two lay within the uncertainty that the survey states for such a mean; it is *missed* where one of the
first two was a mistake, they were taken to agree, and their mean errs by more than that. Held to {needless:g} % and
{missed:g} % of reeds.

The rule learns the player's scatter from the reeds that are done; beside it, in brackets, the fixed limit of 1.5 cents
that it replaced, over the same soundings.

| scatter, cents | third takes, % | needless, % | missed, % | takes a reed | RMS error, cents | as good as stated, % |
| --- | --- | --- | --- | --- | --- | --- |
{rows}"""


def page(found: list[tuple[Asking, Asking]], surveys: int = SURVEYS) -> str:
    """The page, from `table`."""
    rows = []
    for was, now in found:
        pairs = ((now.third, was.third, 1), (now.needless, was.needless, 1), (now.missed, was.missed, 1))
        pairs += ((now.takes, was.takes, 2), (now.rms, was.rms, 2), (now.within, was.within, 1))
        cells = [f"{one:.{digits}f} ({other:.{digits}f})" for one, other, digits in pairs]
        rows.append(f"| {now.scatter:g} | {' | '.join(cells)} |\n")
    return PAGE.format(
        surveys=surveys,
        reeds=REEDS,
        players=len(PLAYERS),
        differ=100 * REEDS_DIFFER,
        mistakes=100 * MISTAKES,
        bent=BENT,
        needless=NEEDLESS_MOST,
        missed=MISSED_MOST,
        rows="".join(rows),
    )


if __name__ == "__main__":
    print(page(table()))
