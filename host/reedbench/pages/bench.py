"""What the bench sheet says of a survey in the ledger."""

from reedbench.ledger import StoredSurvey
from reedbench.sheet import SurveyInfo
from reedbench.surveys import day


def survey_info(survey: StoredSurvey) -> SurveyInfo:
    """The survey as a sheet presents it."""
    taken = day(survey) if survey.unix_s else ""
    state = f"{survey.state}, imported from {survey.file}" if survey.file is not None else survey.state
    return SurveyInfo(taken, state, survey.meter, survey.takes, survey.pass_number, survey.number)
