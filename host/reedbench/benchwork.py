"""What the meter needs to know of an instrument at the bench and in a check: the plan, and the last readings."""

from typing import Any

from reedbench.instrument import Instrument
from reedbench.item import Item
from reedbench.ledger import Ledger
from reedbench.pairing import last_alone
from reedbench.planning import planned

_MOST_CCENT = 30000  # what the message `work` holds


def work_of(ledger: Ledger, instrument: Instrument) -> list[dict[str, Any]]:
    """Values of the message `work` for each reed of which the last survey tells something; none without a survey."""
    last = last_alone(ledger.surveys(instrument.key_id))
    if not last or last.layout != instrument.layout.id:
        return []
    _, plan = planned(ledger, last.number)
    return [_work(item) for item in plan.items if item.reading.cents is not None]


def _work(item: Item) -> dict[str, Any]:
    reading = item.reading
    assert reading.cents is not None and reading.u95_cents is not None
    stop = item.stop_cents if item.bench_stop_cents is None else item.bench_stop_cents
    return {
        "ordinal": item.reed.ordinal,
        "order": item.order,
        "stop_ccent": _ccent(stop or 0.0),
        "last_ccent": _ccent(reading.cents),
        "last_u95_ccent": max(1, _ccent(reading.u95_cents)),
    }


def _ccent(cents: float) -> int:
    """Hundredths of a cent, as many as the message holds."""
    return max(-_MOST_CCENT, min(_MOST_CCENT, round(100 * cents)))
