"""Cases about takes that agree, for CPython and MicroPython alike. A take: [cents, se_cents] or None."""

from dice import Dice
from wire import agree

SURE = 1e-9  # cents; what arithmetic may add to a difference


def limit(se_a, se_b, scatter):
    return agree.limit(se_a, se_b, scatter)


def learned(reeds):
    """What a survey takes its scatter to be, before and after each of `reeds`: lists of takes."""
    scatter = agree.Scatter()
    told = [scatter.cents]
    for takes in reeds:
        scatter.learn(takes)
        told.append(scatter.cents)
    return told


def agreeing(takes):
    return agree.agreeing(takes)


def verdict(takes):
    return agree.verdict(takes)


def some_takes(dice, coarse):
    """Up to MOST takes as a survey may bring them: most near each other, some astray, some without a figure.

    `coarse` draws from so few pitches that many takes are level.
    """
    takes = []
    for _ in range(dice.below(agree.MOST + 1)):
        spread = dice.pick([300, 1500, 4000])
        cents = dice.between(-3, 3) * 0.75 if coarse else dice.between(-spread, spread) / 1000
        se = dice.pick([0.0, 0.5, 1.0]) if coarse else dice.below(1200) / 1000
        takes.append(None if dice.below(6) == 0 else (cents, se))
    return takes


def pair_agrees(a, b):
    return abs(a[0] - b[0]) <= agree.limit(a[1], b[1]) + SURE


def width(takes):
    """From the lowest to the highest, in cents."""
    cents = [take[0] for take in takes]
    return max(cents) - min(cents)


def longest_run(takes):
    """Size of the largest set of takes, each next to another in pitch, in which every two agree; by trying all."""
    order = sorted([take for take in takes if take is not None], key=lambda take: take[0])
    most = 0
    for first in range(len(order)):
        for end in range(first + 1, len(order) + 1):
            run = order[first:end]
            if all(pair_agrees(a, b) for at, a in enumerate(run) for b in run[:at]):
                most = max(most, len(run))
    return most


def any_pair(takes):
    """Whether any two takes agree, wherever the others lie."""
    figures = [take for take in takes if take is not None]
    return any(pair_agrees(a, b) for at, a in enumerate(figures) for b in figures[:at])


def faults(takes, dice):
    """What is wrong with the group that is chosen of `takes`, in words; nothing if all is right."""
    group = agree.agreeing(takes)
    wrong = []
    if group != sorted(set(group)) or any(takes[at] is None for at in group):
        wrong.append("not places of takes with a figure, each once and in order")
        return wrong
    members = [takes[at] for at in group]
    if len(group) == 1 or (group and len(group) < longest_run(takes)):
        wrong.append("another run of takes, in which all agree, is larger")
    if bool(group) != any_pair(takes):
        wrong.append("a group without two takes that agree, or two that agree without a group")
    if members:
        if width(members) > agree.LIMIT_MOST + SURE:
            wrong.append("wider than the widest limit")
        low = min(members, key=lambda take: take[0])
        high = max(members, key=lambda take: take[0])
        se = [max(take[1] for take in members if take[0] == end[0]) for end in (low, high)]
        if high[0] - low[0] > agree.limit(se[0], se[1]) + SURE:
            wrong.append("its lowest and its highest take do not agree")
    wanted = "done" if group else "give up" if len(takes) >= agree.MOST else "again"
    if agree.verdict(takes) != wanted:
        wrong.append("the verdict does not follow")
    if group and not agree.agreeing(takes + [(dice.between(-4000, 4000) / 1000, dice.below(1200) / 1000)]):  # noqa: RUF005
        wrong.append("one more take makes the agreement disappear")
    return wrong


def properties(seed, count):
    """Faults over `count` random sets of takes, the first few, each with its takes."""
    dice = Dice(seed)
    found = []
    for number in range(count):
        takes = some_takes(dice, number % 2 == 0)
        wrong = faults(takes, dice)
        if wrong and len(found) < 3:
            found.append([wrong, takes])
    return found


def changed_by_order(seed, count):
    """Sets of takes of which another order chooses other takes, documented ties excepted; the first few.

    Two groups that are equally large and equally wide are a tie, as are takes that are level.
    """
    dice = Dice(seed)
    found = []
    ties = 0
    for number in range(count):
        takes = some_takes(dice, number % 4 == 0)
        order = dice.shuffled(range(len(takes)))
        mixed = [takes[at] for at in order]
        here = agree.agreeing(takes)
        there = sorted(order[at] for at in agree.agreeing(mixed))
        if here == there:
            continue
        pitches = [take[0] for take in takes if take is not None]
        level = len(set(pitches)) < len(pitches)
        equal = here and len(here) == len(there) and same_width(takes, here, there)
        if level or equal:
            ties += 1
        elif len(found) < 3:
            found.append([takes, mixed])
    return [found, ties]


def same_width(takes, here, there):
    return abs(width([takes[at] for at in here]) - width([takes[at] for at in there])) < SURE
