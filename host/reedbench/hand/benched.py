"""Strokes that the meter counted at the bench: whether they raised or lowered, the plan that they followed says."""

from collections.abc import Iterable

from reedbench.errors import BadInput
from reedbench.evidence import MOVED
from reedbench.ledger import Ledger, StoredSitting
from reedbench.pairing import last_alone
from reedbench.planning import planned


def keep_benched(ledger: Ledger, sittings: Iterable[StoredSitting]) -> None:
    """Keep the strokes of these sittings as those of the pass that followed the last survey before the work.

    Strokes on a reed that its plan does not move teach nothing, nor do those of an instrument that is not described.
    """
    worked = dict.fromkeys((one.instrument, one.pass_number) for one in sittings if one.strokes)
    for instrument, pass_number in worked:
        survey = last_alone(one for one in ledger.surveys(instrument) if one.pass_number == pass_number)
        if not survey:
            continue
        try:
            _, plan = planned(ledger, survey.number)
        except BadInput:
            continue
        actions = {ordinal: item.action for ordinal, item in plan.by_ordinal().items()}
        counted = ledger.benched(survey)
        ledger.keep_strokes(
            survey.number,
            {(ordinal, actions[ordinal]): n for ordinal, n in counted.items() if actions.get(ordinal) in MOVED},
        )
