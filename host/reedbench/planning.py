"""From a survey in the ledger to its plan: the one place that joins the two."""

from reedbench.errors import BadInput
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.ledger import ImportedReading, Ledger, StoredSurvey
from reedbench.plan import Plan, plan
from reedbench.reading import Reading, readings
from reedbench.sheet import SurveyInfo
from reedbench.surveys import day, in_state, instrument_of, takes_of
from reedbench.tuning import cents_between


def planned(ledger: Ledger, number: int | None, state: str | None = None) -> tuple[StoredSurvey, Plan]:
    """The survey of that number, or the last one, and the plan that follows from its takes in one state (the last one
    sounded in for None); BadInput where none can."""
    survey = in_state(ledger.survey(number), state)
    instrument = instrument_of(ledger, survey)
    if instrument.layout.id != survey.layout:
        raise BadInput(
            f"survey {survey.number} is of the layout {survey.layout}, but the ledger now has "
            f"{instrument.name} as {instrument.layout.id}: add the instrument again as it was"
        )
    return survey, plan(instrument, readings_of(ledger, survey, instrument))


def readings_of(ledger: Ledger, survey: StoredSurvey, instrument: Instrument) -> dict[int, Reading]:
    """The reading of every reed of `instrument`, by ordinal: from the survey's takes, or as they were imported."""
    if survey.file is None:
        return readings(instrument, takes_of(ledger, survey))
    imported = {one.ordinal: one for one in ledger.imported(survey.number)}
    return {reed.ordinal: _stated(reed, imported.get(reed.ordinal)) for reed in instrument.reeds}


def _stated(reed: InstrumentReed, imported: ImportedReading | None) -> Reading:
    """An imported reading as it was stated; it counts as one take, and nobody knows of others."""
    if imported is None:
        return Reading(reed.ordinal, None, None, None, (), (), 0, (), 0, "again")
    cents = cents_between(imported.hz, reed.target_hz)
    return Reading(reed.ordinal, cents, imported.u95_cents, None, (1,), (), 1, (), 0, "done")


def survey_info(survey: StoredSurvey) -> SurveyInfo:
    """The survey as a sheet presents it."""
    taken = day(survey.unix_s) if survey.unix_s else ""
    state = f"{survey.state}, imported from {survey.file}" if survey.file is not None else survey.state
    return SurveyInfo(taken, state, survey.meter, survey.takes, survey.pass_number)
