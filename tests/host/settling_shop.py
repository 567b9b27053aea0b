"""Shops whose reeds settle by known laws after a pass, in hours and in days; what they read, survey by survey."""

import numpy as np
from reedbench.hand.settled import summed, waits
from reedbench.ledger import StoredSurvey
from reedbench.tuning import raised

HOURS, DAYS = 0.7 * 86_400, 10 * 86_400  # from one survey to the next
LAWS = [(action, when) for action in ("raise", "lower") for when in ("within a day", "within two weeks")]
TOLERANCE = 2.0
UNSURE_CENTS = 0.2  # standard uncertainty of a reading


def survey(number, pass_number, unix_s):
    """A survey of the instrument, told by its pass and time alone."""
    return StoredSurvey(
        number, "m", 1, number, "a", "a", "solo-12", "covers off", pass_number, 440.0, TOLERANCE, unix_s, 48, 96, True
    )


class SettlingShop:
    """`laws`: cents that reeds of this shop move on average, by what was done and how long ago.

    Shops differ in that by what a plan assumes beforehand; how much reeds differ about it is drawn with the shop.
    """

    def __init__(self, kind, rng):
        self.kind, self.rng = kind, rng
        self.laws = {law: rng.normal(0, 0.8) for law in LAWS}
        self.differ = rng.uniform(0.2, 0.8)

    def instrument(self):
        """(surveys, hertz by survey) of one job: a pass, a survey after hours, one after days. The room moves all."""
        rng, count = self.rng, len(self.kind.reeds)
        cents = np.where(rng.random(count) < 0.4, rng.choice([-1, 1], count) * rng.uniform(4, 9, count), 0.0)
        action = np.where(cents < 0, "raise", np.where(cents > 0, "lower", ""))
        surveys = [survey(n, n > 1, at) for n, at in ((1, 0), (2, 3600), (3, 3600 + HOURS), (4, 3600 + HOURS + DAYS))]
        read = {surveys[0]: self._read(cents)}
        cents = cents * rng.normal(0, 0.05, count)  # worked
        for one, when in zip(surveys[1:], ("", "within a day", "within two weeks"), strict=True):
            for way in ("raise", "lower") if when else ():
                these = action == way
                cents[these] += rng.normal(self.laws[way, when], self.differ, these.sum())
            cents += rng.normal(0, 0.5)
            read[one] = self._read(cents)
        return surveys, read

    def _read(self, cents):
        heard = cents + self.rng.normal(0, UNSURE_CENTS, len(cents))
        return {reed.ordinal: raised(reed.target_hz, heard[reed.ordinal]) for reed in self.kind.reeds}

    def learned(self, instruments):
        """What the record of so many instruments says, by law."""
        moved = []
        for _ in range(instruments):
            surveys, read = self.instrument()
            moved += [one for wait in waits(surveys) for one in wait.moved(self.kind, read.__getitem__)]
        return {(one.action, one.when): one for one in summed(moved)}
