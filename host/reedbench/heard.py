"""What the takes of a ledger's surveys say, each survey read and sorted once, however often it is asked for."""

from typing import TypeVar

from reedbench.instrument import Instrument
from reedbench.ledger import Ledger, StoredSurvey, StoredTake
from reedbench.reading import Gathered
from reedbench.surveys import takes_in

Place = TypeVar("Place")
What = TypeVar("What")

KEPT = 64  # surveys, those asked for last: about 11 MB of an instrument of 64 reeds (measured)


class Heard:
    """The takes of one ledger, for as long as one command asks about them."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self._kept: dict[tuple[int, str], Gathered] = {}  # by number and state; the one asked for last stands last
        self._takes: dict[int, list[StoredTake]] = {}  # by number, likewise

    def takes(self, survey: int) -> list[StoredTake]:
        """All takes of the survey of that number."""
        known = self._takes.pop(survey, None)
        return _keep(self._takes, survey, self.ledger.takes(survey) if known is None else known)

    def of(self, survey: StoredSurvey, instrument: Instrument) -> Gathered:
        """The takes of `survey` in its state, against the targets of `instrument`."""
        place = survey.number, survey.state
        known = self._kept.pop(place, None)
        if known is None or known.targets != instrument.targets:
            known = Gathered(instrument, takes_in(self.takes(survey.number), survey.state))
        return _keep(self._kept, place, known)


def _keep(kept: dict[Place, What], place: Place, what: What) -> What:
    """Keep it as what was asked for last, and no more than KEPT in all."""
    kept[place] = what
    if len(kept) > KEPT:
        del kept[next(iter(kept))]
    return what
