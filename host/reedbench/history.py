"""The surveys of an instrument that can be compared with one of them, and the readings of each."""

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from reedbench.errors import BadInput
from reedbench.heard import Heard
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.ledger import ImportedReading, Ledger, StoredSurvey
from reedbench.reading import Gathered, Reading, Take
from reedbench.repeatability import USUAL, Repeatability
from reedbench.states import Offset, offsets
from reedbench.surveys import instrument_of
from reedbench.temperature import APART_K, Correction, temperature
from reedbench.tuning import cents_between

MOST = 12  # surveys before one that still say something about it, of its time in the shop and the time before
SAME_S = 86_400  # takes of surveys farther apart are not put together (common practice, no source)
TOGETHER_S = 7 * 86_400  # surveys in two states farther apart do not tell their difference (common practice, no source)
ASSEMBLED = "assembled"
ON_BENCH = ("plate on bench", "covers off")


@dataclass(frozen=True)
class Surveyed:
    """One survey in one state. `instrument`: as it was ordered then; `takes`: none where it was imported."""

    survey: StoredSurvey
    instrument: Instrument
    takes: list[Take]
    readings: dict[int, Reading]  # by ordinal, of every reed
    celsius: float | None  # how warm the meter was; None where nobody knows
    usual: Repeatability  # how well surveys of this shop repeat themselves, by those before it
    with_survey: int | None = None  # number of the survey that it goes on with, whose takes are among these


@dataclass(frozen=True)
class Learned:
    """How much higher reeds read assembled than on the bench, by ordinal, and the two surveys that tell."""

    offsets: Mapping[int, Offset]
    bench: Surveyed
    assembled: Surveyed


class PastSurveys:
    """What the ledger has of the instrument of one survey, whose readings are wanted as `correction` says, or as they
    are.

    The survey `asked` about is read as the instrument is ordered now, the others as it was ordered then.
    """

    def __init__(self, heard: Heard, asked: StoredSurvey, correction: Correction | None = None) -> None:
        """BadInput where the ledger does not have the instrument as it was surveyed."""
        self._heard, self._asked, self.correction = heard, asked, correction
        self._instrument = _as_surveyed(heard.ledger, asked)
        self._known = in_order(one for one in heard.ledger.surveys(asked.instrument) if one.layout == asked.layout)
        self._learned: dict[tuple[int, int], Learned] = {}

    def told_with(self, survey: StoredSurvey) -> list[StoredSurvey]:
        """The surveys that a plan of `survey` takes into account, the oldest first, itself last: those in its state of
        the same time in the shop and of the time before."""
        same = [one for one in self._until(survey) if survey.state in one.states]
        last = [one for job in jobs(same)[-2:] for one in job]
        return [one.sounded(survey.state) for one in last[-1 - MOST :]]

    def read(self, surveys: Iterable[StoredSurvey]) -> Iterator[Surveyed]:
        """`surveys` in one state, the oldest first. How well they repeat themselves is usual for those that follow."""
        usual = USUAL
        for one in surveys:
            then = self._instrument if one.number == self._asked.number else _as_ordered(self._instrument, one)
            known, repeats = _read(self._heard, one, then, usual, self.correction)
            yield known
            usual = repeats.as_usual

    def _until(self, survey: StoredSurvey) -> list[StoredSurvey]:
        numbers = [one.number for one in self._known]
        return self._known[: numbers.index(survey.number) + 1]

    def learned(self, survey: StoredSurvey) -> Learned | None:
        """What was known, when `survey` was made, of the difference between its state and the other.

        From the last two sets of readings that were made in both states after the same pass, within a week and with the
        same wind. None where there are none.
        """
        kind, _, wind = survey.state.partition(", ")
        states = [f"{state}, {wind}" if wind else state for state in (ASSEMBLED, *ON_BENCH)]
        if survey.state not in states:
            return None
        on_bench = states[1:] if kind == ASSEMBLED else [survey.state]
        known = self._until(survey)
        benches = [one for one in known if any(state in one.states for state in on_bench)]
        for assembled in reversed([one for one in known if benches and states[0] in one.states]):
            near = [one for one in benches if _in_one_go(one, assembled)]
            for state in on_bench:
                for bench in reversed(near):
                    if state in bench.states:
                        return self._difference(bench.sounded(state), assembled.sounded(states[0]))
        return None

    def _difference(self, bench: StoredSurvey, assembled: StoredSurvey) -> Learned:
        pair = bench.number, assembled.number
        if pair not in self._learned:
            there, here = (
                _read(self._heard, one, self._instrument, USUAL, self.correction)[0] for one in (bench, assembled)
            )
            found = offsets(self._instrument, there.readings, here.readings)
            self._learned[pair] = Learned({n: one for n, one in found.items() if one.learned}, there, here)
        return self._learned[pair]

    def going_on(self, before: Surveyed, one: Surveyed, unsure: Collection[int]) -> Surveyed:
        """`one`, where it only goes on with `before`, with the takes of that: of reeds that were not sounded this time,
        and of those that were to be sounded again."""
        if not _goes_on(before, one):
            return one
        heard = {take.ordinal for take in one.takes} - set(unsure)
        known = [take for take in before.takes if take.ordinal not in heard and not take.withdrawn and not take.role]
        # Its own control reed spoke for the other survey alone, and its meter's clock may have begun anew.
        earlier = [replace(take, up_s=None, survey=take.survey or before.survey.number) for take in known]
        if not earlier:
            return one
        takes = [replace(take, sequence=place) for place, take in enumerate([*earlier, *one.takes])]
        found, _ = _readings(Gathered(one.instrument, takes), one.usual, self.correction)
        return replace(one, takes=takes, readings=found, with_survey=before.survey.number)


def alone(heard: Heard, survey: StoredSurvey, instrument: Instrument) -> tuple[Surveyed, Repeatability]:
    """One survey by itself, and how well it repeats itself."""
    return _read(heard, survey, _as_ordered(instrument, survey), USUAL, None)


def _read(
    heard: Heard, survey: StoredSurvey, instrument: Instrument, usual: Repeatability, correction: Correction | None
) -> tuple[Surveyed, Repeatability]:
    """One survey, and how well it repeats itself: as `usual` where it was imported."""
    if survey.file is None:
        gathered = heard.of(survey, instrument)
        found, repeats = _readings(gathered, usual, correction)
        takes = gathered.takes
        return Surveyed(survey, instrument, takes, found, temperature(takes), usual), repeats
    imported = {reading.ordinal: reading for reading in heard.ledger.imported(survey.number)}
    stated = {reed.ordinal: _stated(reed, imported.get(reed.ordinal)) for reed in instrument.reeds}
    return Surveyed(survey, instrument, [], stated, None, usual), usual


def _readings(
    gathered: Gathered, usual: Repeatability, correction: Correction | None
) -> tuple[dict[int, Reading], Repeatability]:
    found, repeats = gathered.read(usual)
    if correction and (celsius := temperature(gathered.takes)) is not None:
        found = correction.readings(found, celsius)
    return found, repeats


def surveyed(ledger: Ledger, survey: StoredSurvey) -> Surveyed:
    """`survey` with its readings as they are, whose repeatability those before it help to know."""
    past = PastSurveys(Heard(ledger), survey)
    *_, last = past.read(past.told_with(survey))
    return last


def in_order(surveys: Iterable[StoredSurvey]) -> list[StoredSurvey]:
    """As they were sounded: by time, but those of one journal as it has them, whatever its clock said."""
    latest: dict[tuple[str, int], float] = {}
    since = {}
    by_journal = sorted(surveys, key=lambda one: (one.sequence, one.number))
    for one in by_journal:
        since[one.number] = one.since_unix_s
        if one.file is None:
            journal = one.meter, one.epoch
            since[one.number] = latest[journal] = max(one.since_unix_s, latest.get(journal, one.since_unix_s))
    return sorted(by_journal, key=lambda one: since[one.number])


def jobs(surveys: Iterable[StoredSurvey]) -> list[list[StoredSurvey]]:
    """Surveys in their order, by times that the instrument was in the shop: each begins again before any pass."""
    found: list[list[StoredSurvey]] = []
    for one in surveys:
        if not found or one.pass_number < found[-1][-1].pass_number:
            found.append([])
        found[-1].append(one)
    return found


def _in_one_go(one: StoredSurvey, other: StoredSurvey) -> bool:
    """Whether no work and not much time lies between two surveys."""
    return one.pass_number == other.pass_number and abs(one.since_unix_s - other.since_unix_s) <= TOGETHER_S


def _goes_on(before: Surveyed, one: Surveyed) -> bool:
    """Whether a survey goes on with the one before: the same meter, day and warmth, and no work between."""
    first, second = before.survey, one.survey
    warmth = 0.0 if before.celsius is None or one.celsius is None else one.celsius - before.celsius
    return (
        bool(before.takes and one.takes)
        and first.meter == second.meter
        and first.pass_number == second.pass_number
        and second.since_unix_s - first.since_unix_s <= SAME_S
        and abs(warmth) <= APART_K
    )


def _as_surveyed(ledger: Ledger, survey: StoredSurvey) -> Instrument:
    instrument = instrument_of(ledger, survey)
    if instrument.layout.id != survey.layout:
        raise BadInput(
            f"survey {survey.number} is of the layout {survey.layout}, but the ledger now has "
            f"{instrument.name} as {instrument.layout.id}: add the instrument again as it was"
        )
    return instrument


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
