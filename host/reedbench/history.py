"""The surveys of an instrument that can be compared with one of them, and the readings of each."""

from dataclasses import dataclass, replace

from reedbench.instrument import Instrument, InstrumentReed
from reedbench.ledger import ImportedReading, Ledger, StoredSurvey
from reedbench.reading import Reading, Take, read
from reedbench.repeatability import USUAL, Repeatability
from reedbench.states import Offset, offsets
from reedbench.surveys import takes_of
from reedbench.tuning import cents_between

MOST = 6  # surveys before one that still say something about it
ASSEMBLED = "assembled"
ON_BENCH = ("plate on bench", "covers off")


@dataclass(frozen=True)
class Surveyed:
    """One survey in one state. `instrument`: as it was ordered then; `takes`: none where it was imported."""

    survey: StoredSurvey
    instrument: Instrument
    takes: list[Take]
    readings: dict[int, Reading]  # by ordinal, of every reed


def surveyed(ledger: Ledger, survey: StoredSurvey, instrument: Instrument) -> list[Surveyed]:
    """`survey` and those before it of the same instrument in the same state, itself last.

    How well they repeat themselves is what is usual for those that follow.
    """
    usual = USUAL
    found = []
    for one in [*_before(ledger, survey), survey]:
        then = instrument if one is survey else _as_ordered(instrument, one)
        known, repeats = _read(ledger, one, then, usual)
        found.append(known)
        usual = repeats.as_usual
    return found


def learned(ledger: Ledger, survey: StoredSurvey, instrument: Instrument) -> dict[int, Offset]:
    """How much higher each reed reads in the state of `survey`, which is assembled, than on the bench, by ordinal.

    From the last two sets of readings, up to `survey`, that were made in both states after the same pass, with the same
    wind. None where there are none.
    """
    kind, _, wind = survey.state.partition(", ")
    if kind != ASSEMBLED:
        return {}
    known = [one for one in ledger.surveys() if one.number <= survey.number and _same(one, survey)]
    on_bench = [f"{state}, {wind}" if wind else state for state in ON_BENCH]
    for assembled in reversed([one for one in known if survey.state in one.states]):
        for state in on_bench:
            for bench in reversed(known):
                if bench.pass_number == assembled.pass_number and state in bench.states:
                    both = (replace(bench, state=state), replace(assembled, state=survey.state))
                    found = [_read(ledger, one, instrument, USUAL)[0].readings for one in both]
                    return {n: one for n, one in offsets(instrument, *found).items() if one.learned}
    return {}


def _read(
    ledger: Ledger, survey: StoredSurvey, instrument: Instrument, usual: Repeatability
) -> tuple[Surveyed, Repeatability]:
    """One survey, and how well it repeats itself: as `usual` where it was imported."""
    if survey.file is None:
        takes = takes_of(ledger, survey)
        found, repeats = read(instrument, takes, usual)
        return Surveyed(survey, instrument, takes, found), repeats
    imported = {reading.ordinal: reading for reading in ledger.imported(survey.number)}
    stated = {reed.ordinal: _stated(reed, imported.get(reed.ordinal)) for reed in instrument.reeds}
    return Surveyed(survey, instrument, [], stated), usual


def _same(one: StoredSurvey, other: StoredSurvey) -> bool:
    """Whether two surveys are of the same instrument."""
    return (one.instrument, one.layout) == (other.instrument, other.layout)


def _before(ledger: Ledger, survey: StoredSurvey) -> list[StoredSurvey]:
    """Earlier surveys in the state of `survey`, the oldest first."""
    earlier = [
        replace(one, state=survey.state)
        for one in ledger.surveys()
        if one.number < survey.number
        and _same(one, survey)
        and survey.state in one.states
        and not _certainly_after(one, survey)
    ]
    return earlier[-MOST:]


def _certainly_after(one: StoredSurvey, other: StoredSurvey) -> bool:
    """Whether one survey was made after another; of one journal the records' own order says so, whatever clocks say."""
    if one.file is other.file is None and (one.meter, one.epoch) == (other.meter, other.epoch):
        return one.sequence > other.sequence
    if one.unix_s is None or other.unix_s is None:
        return False
    return one.unix_s - (one.unix_within_s or 0) > other.unix_s + (other.unix_within_s or 0)


def _as_ordered(instrument: Instrument, survey: StoredSurvey) -> Instrument:
    """The instrument with the reference and tolerance of an earlier survey."""
    then = replace(instrument.order, reference_hz=survey.reference_hz, tolerance_cents=survey.tolerance_cents)
    return instrument if then == instrument.order else replace(instrument, order=then)


def _stated(reed: InstrumentReed, imported: ImportedReading | None) -> Reading:
    """An imported reading as it was stated; it counts as one take, and nobody knows of others."""
    if imported is None:
        return Reading(reed.ordinal, None, None, None, (), (), 0, (), 0, "again")
    cents = cents_between(imported.hz, reed.target_hz)
    return Reading(reed.ordinal, cents, imported.u95_cents, None, (1,), (), 1, (), 0, "done")
