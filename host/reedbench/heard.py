"""What the takes of a ledger's surveys say, each survey read and sorted once, however often it is asked for."""

from reedbench.instrument import Instrument
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.reading import Gathered
from reedbench.surveys import takes_of

KEPT = 64  # surveys, those asked for last: about 10 MB of a large instrument (computed)


class Heard:
    """The takes of one ledger, for as long as one command asks about them."""

    def __init__(self, ledger: Ledger) -> None:
        self.ledger = ledger
        self._kept: dict[tuple[int, str], Gathered] = {}  # by number and state; the one asked for last stands last

    def of(self, survey: StoredSurvey, instrument: Instrument) -> Gathered:
        """The takes of `survey` in its state, against the targets of `instrument`."""
        place = survey.number, survey.state
        known = self._kept.pop(place, None)
        if known is None or known.targets != instrument.targets:
            known = Gathered(instrument, takes_of(self.ledger, survey))
        self._kept[place] = known
        if len(self._kept) > KEPT:
            del self._kept[next(iter(self._kept))]
        return known
