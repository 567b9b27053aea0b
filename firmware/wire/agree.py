"""When do the takes of one reed agree, and when is another one needed? Meter and host both ask here.

The meter asks after each take, to know what to show next; the host asks again over the stored takes, so
that the two can never differ about which takes a reading stands on.
"""

import math

WANTED = 2  # takes that must agree
LIMIT_CENTS = 1.5  # breath and re-attack scatter takes of a good reed by a few tenths of a cent
LIMIT_MOST = 3.0  # however uncertain the takes are
MOST = 5  # soundings of one reed before the survey goes on without it


def limit(se_a, se_b):
    """Largest difference in cents at which two takes agree, from their random standard errors in cents."""
    return min(LIMIT_MOST, max(LIMIT_CENTS, 3 * math.sqrt(se_a * se_a + se_b * se_b)))


def agreeing(takes):
    """Indices of the largest group of takes that agree with their neighbours in pitch, empty below WANTED.

    `takes`: list of (cents, se_cents) or None for a take that is not to be trusted. Of two groups of the
    same size the tighter one counts.
    """
    order = sorted([i for i in range(len(takes)) if takes[i] is not None], key=lambda i: takes[i][0])
    best = []
    best_width = 0.0
    for first in range(len(order)):
        for last in range(first + WANTED - 1, len(order)):
            low, high = takes[order[first]], takes[order[last]]
            width = high[0] - low[0]
            if width > limit(low[1], high[1]):
                break
            size = last - first + 1
            if size > len(best) or (size == len(best) and width < best_width):
                best = sorted(order[first : last + 1])
                best_width = width
    return best


def verdict(takes):
    """ "done", "again" or "give up" for one reed; `takes` as for `agreeing`, in the order they were sounded."""
    if agreeing(takes):
        return "done"
    return "give up" if len(takes) >= MOST else "again"
