"""What the whole shop's record teaches: its hand, how its reeds settle, how well it repeats itself, its pace."""

from collections.abc import Iterable
from dataclasses import dataclass

from reedbench.hand.counting import hand_of
from reedbench.hand.pace import Pace, pace
from reedbench.hand.past import Past, past_of
from reedbench.hand.settled import SettlingRecord
from reedbench.hand.stroke import Hand
from reedbench.hand.trends import repeats_cents
from reedbench.heard import Heard
from reedbench.ledger import Ledger
from reedbench.settling import Settled

NEWEST = 60  # surveys, of the last instruments surveyed more than once, that are enough to look at


@dataclass(frozen=True)
class Shop:
    """`instruments`: how many of them repeatability and pace stand on."""

    hand: Hand
    settled: list[Settled]
    repeats_cents: float | None
    pace: Pace
    instruments: int


def shop_of(ledger: Ledger) -> Shop:
    """From the last instruments that were surveyed more than once."""
    record = SettlingRecord(Heard(ledger))
    pasts = last_pasts(ledger, record)
    stretches = [stretch for past in pasts for stretch in past.stretches]
    return Shop(hand_of(ledger), record.known(), repeats_cents(stretches), pace_of(pasts), len(pasts))


def pace_of(pasts: Iterable[Past]) -> Pace:
    """How long things took in those pasts."""
    pasts = list(pasts)
    return pace(
        [chapter for past in pasts for chapter in past.chapters],
        [stretch for past in pasts for stretch in past.stretches],
    )


def last_pasts(ledger: Ledger, record: SettlingRecord, known: Past | None = None) -> list[Past]:
    """The pasts of the last instruments that were surveyed more than once. `known`: one that is known already."""
    surveys = ledger.surveys()
    described = {one.key: one.layout for one in ledger.instruments()}
    counted: dict[str, int] = {}
    for one in surveys:
        if described.get(one.instrument) == one.layout:
            counted[one.instrument] = counted.get(one.instrument, 0) + 1
    keys = list(dict.fromkeys(one.instrument for one in reversed(surveys) if counted.get(one.instrument, 0) > 1))
    pasts: list[Past] = []
    for key in keys:
        pasts.append(known if known and known.instrument.key_id == key else past_of(ledger, key, record=record))
        if sum(len(past.chapters) for past in pasts) >= NEWEST:
            break
    return pasts
