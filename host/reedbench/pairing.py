"""From the ledger to the pairs of an instrument: what each reed reads alone, joined with the takes of both."""

from collections.abc import Iterable

from reedbench.coupling import Heard, Pair, pairs
from reedbench.errors import BadInput
from reedbench.firmware.wire.record import BOTH_WORDS
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan
from reedbench.resolved import resolved_takes

BOTH = f", {BOTH_WORDS}"  # at the end of a state in which pairs were heard together


def last_alone(surveys: Iterable[StoredSurvey]) -> StoredSurvey | None:
    """The one sounded last in which reeds sounded alone."""
    return max((one for one in surveys if not one.state.endswith(BOTH)), key=lambda one: one.place, default=None)


def alone(ledger: Ledger, number: int | None) -> int:
    """The number of that survey, or of the last one in which reeds sounded alone; BadInput for one of pairs."""
    survey = ledger.survey(number)
    if not survey.state.endswith(BOTH):
        return survey.number
    last = last_alone(ledger.surveys(survey.instrument))
    if number is None and last:
        return last.number
    raise BadInput(
        f"survey {survey.number} is of pairs heard together: survey each reed alone and plan that one, with --together "
        "to see what both say"
    )


def paired(ledger: Ledger, survey: StoredSurvey, plan: Plan) -> list[Pair]:
    """The pairs of the instrument of `survey`, of which `plan` was made, with what takes of both say that were sounded
    in the same state, after the same pass of the work: of each pair those of the last survey that has any."""
    state = survey.state + BOTH
    heard: Heard = {}
    for one in ledger.surveys(survey.instrument):
        if (one.layout, one.pass_number) != (survey.layout, survey.pass_number) or state not in one.states:
            continue
        found = resolved_takes(ledger, one)
        here: Heard = {}
        for take in ledger.takes(one.number):
            if take.sequence in found and take.state == state and not take.withdrawn:
                told = found[take.sequence]
                here.setdefault((take.ordinal, told.octave), []).append(told)
        heard |= here
    return pairs(plan.together, {item.reed.ordinal: item.reading for item in plan.items}, heard)
