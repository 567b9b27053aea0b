"""Strokes that a shop counted: from a table in CSV to the ledger, and from the ledger to what they teach.

    place,breath,slide,action,strokes
    3,draw,in,raise,6

The reeds are addressed as in a table of readings (importing.py). A reed belongs to the pass that followed one survey.
"""

from dataclasses import replace

from reedbench.evidence import MOVED
from reedbench.hand.moves import moves, pitches
from reedbench.hand.stroke import NEWEST, Counted, Hand, Stroke, place_of
from reedbench.heard import Heard
from reedbench.history import alone
from reedbench.importing import Sheet, reed_of
from reedbench.item import Item
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.plan import Plan
from reedbench.surveys import instrument_of

SCHEMA = "reedbench.strokes/1"
COLUMNS = ("strokes", "action")
STROKES = (1, 9999)  # of one reed in one pass


def strokes_from(sheet: Sheet, plan: Plan) -> dict[tuple[int, str], int]:
    """Strokes by ordinal and action; without an action that of the plan. BadInput names the line of a stray one."""
    items = plan.by_ordinal()
    found: dict[tuple[int, str], int] = {}
    for line in sheet.lines:
        reed = reed_of(line, plan.instrument)
        strokes = line.figure("strokes", *STROKES)
        if strokes is None:
            continue
        action = line.cells.get("action", "").lower() or items[reed.ordinal].action
        if action not in MOVED:
            line.refuse(f"the plan does not move {reed.label}: say raise or lower in the column action")
        if (reed.ordinal, action) in found:
            line.refuse(f"the reed {reed.label} stands there twice")
        found[reed.ordinal, action] = round(strokes)
    return found


def strokes_of(ledger: Ledger, survey: StoredSurvey) -> dict[tuple[int, str], int]:
    """Strokes that reeds got in the pass that followed a survey, by ordinal and action, wherever they were counted."""
    return ledger.strokes(survey.number)


def hand_of(ledger: Ledger) -> Hand:
    """The shop's hand, as far as its counts teach it."""
    return Hand(counts(ledger))


def counted_out(plan: Plan, hand: Hand) -> Plan:
    """The plan with the strokes that each move should take, where the hand is known well enough to tell."""
    moved = [item for item in plan.items if item.zone and item.stop_cents is not None]
    places = [place_of(item.reed, item.action, plan.instrument.key_id) for item in moved]
    known = dict(zip((item.reed.ordinal for item in moved), hand.known(places), strict=True))
    return replace(plan, items=tuple(_counted_out(item, known.get(item.reed.ordinal)) for item in plan.items))


def _counted_out(item: Item, stroke: Stroke | None) -> Item:
    if stroke is None or item.stop_cents is None or item.reading.cents is None:
        return item
    return replace(item, strokes=stroke.for_move(item.stop_cents - item.reading.cents))


def counts(ledger: Ledger) -> list[Counted]:
    """What the last counted passes of the shop teach, the oldest first."""
    heard = Heard(ledger)
    found: list[list[Counted]] = []
    for number in reversed(ledger.counted()):
        found.append(_of_pass(heard, ledger.survey(number)))
        if sum(map(len, found)) >= NEWEST:
            break
    return [counted for group in reversed(found) for counted in group]


def _of_pass(heard: Heard, before: StoredSurvey) -> list[Counted]:
    """The reeds that were worked one way in the pass that followed a survey, and read after it in the same state."""
    ledger = heard.ledger
    after = next(
        (
            one
            for one in ledger.surveys(before.instrument)
            if one.number > before.number and one.pass_number > before.pass_number and before.state in one.states
        ),
        None,
    )
    if after is None or after.layout != before.layout:
        return []
    instrument = instrument_of(ledger, before)
    strokes = strokes_of(ledger, before)
    first, then = (alone(heard, one, instrument)[0] for one in (before, after))
    worked = {ordinal for ordinal, _ in strokes}
    own, _ = moves(pitches(first.instrument, first.readings), pitches(then.instrument, then.readings), worked)
    found = []
    for (ordinal, action), count in strokes.items():
        both = all((ordinal, way) in strokes for way in MOVED)  # says nothing of either way
        if ordinal in own and not both:
            move = own[ordinal]
            place = place_of(instrument.reeds[ordinal], action, instrument.key_id, before.number)
            found.append(Counted(place, count, move.cents * (1 if action == "raise" else -1), move.u_cents))
    return found
