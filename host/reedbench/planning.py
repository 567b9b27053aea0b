"""From a survey in the ledger to its plan: the one place that joins the two."""

from reedbench.errors import BadInput
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan, plan
from reedbench.reading import readings
from reedbench.sheet import SurveyInfo
from reedbench.surveys import day, instrument_of, takes_of


def planned(ledger: Ledger, number: int | None) -> tuple[StoredSurvey, Plan]:
    """The survey of that number, or the last one, and the plan that follows; BadInput where none can."""
    survey = ledger.survey(number)
    instrument = instrument_of(ledger, survey)
    if instrument.layout.id != survey.layout:
        raise BadInput(
            f"survey {survey.number} is of the layout {survey.layout}, but the ledger now has "
            f"{instrument.name} as {instrument.layout.id}: add the instrument again as it was"
        )
    return survey, plan(instrument, readings(instrument, takes_of(ledger, survey)))


def survey_info(survey: StoredSurvey) -> SurveyInfo:
    """The survey as a sheet presents it."""
    taken = day(survey.unix_s) if survey.unix_s else ""
    return SurveyInfo(taken, survey.state, survey.meter, survey.takes, survey.pass_number)
