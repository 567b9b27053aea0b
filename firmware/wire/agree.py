"""When do the takes of one reed agree, and when is another one needed? Meter and host both ask here.

The meter asks after each take, to know what to show next; the host asks again over the stored takes, so
that the two can never differ about which takes a reading stands on.

How far takes of one reed scatter is the player's: from a tenth of a cent to a whole one. So each survey learns it from
the reeds that are done, and every take carries what had been learned before it. The figures below are the best of those
tried in tests/bench/agreement.py.
"""

import math

WANTED = 2  # takes that must agree
USUAL_CENTS = 0.38  # breath and re-attack scatter takes of a good reed by a few tenths of a cent, RMS
USUAL_REEDS = 4  # done reeds that outweigh the usual
TIMES = 2.8  # standard deviations that the difference of two takes may have
LIMIT_LEAST = 0.5
LIMIT_MOST = 5.0  # however much the takes scatter and however uncertain they are
MOST = 5  # soundings of one reed before the survey goes on without it


class Scatter:
    """What takes of one reed scatter by in a survey so far.

    `cents`: their standard deviation, to a thousandth; `reeds`: how many it stands on, USUAL_REEDS of them given.
    """

    def __init__(self):
        self.cents = USUAL_CENTS
        self.reeds = USUAL_REEDS

    def learn(self, takes):
        """From the first two trusted takes of a reed that is done; `takes` as for `agreeing`.

        A third is asked for only where they differ, and would make the scatter look smaller than it is. One pair can
        raise it by so much only: it may be a mistake.
        """
        first = [take[0] for take in takes if take is not None][:2]
        if len(first) < 2:
            return
        most = TIMES * TIMES * self.cents * self.cents
        squared = self.reeds * self.cents * self.cents + min(most, (first[0] - first[1]) ** 2 / 2)
        self.reeds += 1
        self.cents = int(1000 * math.sqrt(squared / self.reeds) + 0.5) / 1000


def limit(se_a, se_b, scatter=USUAL_CENTS):
    """Largest difference in cents at which two takes agree, from their random standard errors and their scatter."""
    return min(LIMIT_MOST, max(LIMIT_LEAST, TIMES * math.sqrt(se_a * se_a + se_b * se_b + 2 * scatter * scatter)))


def agreeing(takes, scatter=USUAL_CENTS):
    """Indices of the largest group of takes that agree with their neighbours in pitch, empty below WANTED.

    `takes`: list of (cents, se_cents) or None for a take that is not to be trusted. `scatter`: what the last of them
    carries. Of two groups of the same size the tighter one counts.
    """
    order = sorted([i for i in range(len(takes)) if takes[i] is not None], key=lambda i: takes[i][0])
    best = []
    best_width = 0.0
    for first in range(len(order)):
        for last in range(first + WANTED - 1, len(order)):
            low, high = takes[order[first]], takes[order[last]]
            width = high[0] - low[0]
            if width > limit(low[1], high[1], scatter):
                break
            size = last - first + 1
            if size > len(best) or (size == len(best) and width < best_width):
                best = sorted(order[first : last + 1])
                best_width = width
    return best


def verdict(takes, scatter=USUAL_CENTS):
    """ "done", "again" or "give up" for one reed; as for `agreeing`, `takes` in the order they were sounded."""
    if agreeing(takes, scatter):
        return "done"
    return "give up" if len(takes) >= MOST else "again"
