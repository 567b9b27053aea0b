"""From readings to work: for every reed what to do, how far, where, in which order, and why.

    plan(evidence) -> Plan

The verdict compares a reading and its uncertainty with the tolerance, unless something else is to be looked at first
(`causes`). Work order and amounts follow common practice of the trade (no source) where a comment says so; each such
figure is a constant here.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from reedbench.causes import Cause, causes
from reedbench.evidence import MOVED, Evidence
from reedbench.hand.stroke import Strokes
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.metal import Zone, tip_mass, zone_for
from reedbench.reading import Reading
from reedbench.settling import Settling
from reedbench.states import Offset
from reedbench.together import Together, together
from reedbench.tuning import raised
from reedbench.words import signed

# Common practice, no source:
ROUGH_CENTS = 10.0  # larger moves are made in a rough pass, settle, and are measured again
ROUGH_SHARE = 0.2  # of a large move left undone in the rough pass
STOP_SHORT_CENTS = 1.5  # a fine raise ends 1 to 2 cents low and creeps up; a fine lowering ends that much high
STOP_WITHIN = 0.25  # ... but inside this share of what the tolerance leaves beside the uncertainty
DECIDED_TAKES = 4  # with so many, a reed that still straddles the tolerance is touched and not sounded again
LEAST_CENTS = 0.5  # ... where that brings it nearer by this much

ACTIONS = ("inspect", "raise", "lower", "sound again", "leave")
VERDICTS = ("good", "off", "unsure", "look")


@dataclass(frozen=True)
class Item:
    """One reed's line of the plan. Cents are from the reed's target; moves are what the pitch must do."""

    order: int  # place in the order of work, from 1; 0 where there is nothing to do
    reed: InstrumentReed
    reading: Reading
    verdict: str  # one of VERDICTS
    action: str  # one of ACTIONS
    work_pass: str  # "rough" or "fine" for metal work, else ""
    move_cents: float | None  # None where no move may be made yet; 0 where none is needed
    stop_cents: float | None  # what the reed should read when this pass stops
    zone: Zone | None  # where metal comes off
    why: str
    causes: tuple[Cause, ...] = ()  # what speaks for looking at it, or sounding it again
    left_to_settle_cents: float = 0.0  # what it is expected to move by itself after it was stopped
    strokes: Strokes | None = None  # that this pass should take, where the shop's record tells
    offset: Offset | None = None  # how much higher it reads so than on the bench, where that has been learned

    @property
    def hz(self) -> float | None:
        """What it reads in hertz, None without a reading."""
        return None if self.reading.cents is None else raised(self.reed.target_hz, self.reading.cents)

    @property
    def where(self) -> str:
        """Place of the work on the reed, in words; empty where no metal is to come off."""
        return self.zone.words if self.zone else ""

    @property
    def thinner_percent(self) -> float | None:
        """Share of the zone's thickness to take off in this pass, by the uniform beam: an order of size."""
        if self.zone is None or self.reading.cents is None or self.stop_cents is None:
            return None
        return 100 * self.zone.thinning(self.stop_cents - self.reading.cents)

    @property
    def tip_mass_percent(self) -> float | None:
        """Mass on the tip that would do in place of a large lowering, in percent of a uniform tongue's own."""
        if self.action != "lower" or self.work_pass != "rough" or self.move_cents is None:
            return None
        return 100 * tip_mass(self.move_cents)

    @property
    def bench_stop_cents(self) -> float | None:
        """What the reed should read on the bench when this pass stops."""
        return self.offset.bench_cents(self.stop_cents) if self.offset and self.stop_cents is not None else None

    @property
    def after_cents(self) -> float | None:
        """What it is expected to read after this pass."""
        return self.reading.cents if self.stop_cents is None else self.stop_cents


@dataclass(frozen=True)
class Plan:
    """All reeds of an instrument, the ones with work first, in the order of the work."""

    instrument: Instrument
    items: tuple[Item, ...]
    back: Mapping[str, Settling]  # what reeds raised and lowered in the last pass did afterwards
    celsius: float | None = None  # how warm the meter was; None where nobody knows
    remarks: tuple[str, ...] = ()  # what to know about the surveys it stands on, a sentence or two each

    def totals(self) -> dict[str, int]:
        """How many reeds there are, need work (inspecting or metal), and get each action."""
        counts = Counter(item.action for item in self.items)
        need = sum(counts[action] for action in ("inspect", "raise", "lower"))
        by_action = {action.replace(" ", "_"): counts[action] for action in ACTIONS}
        return {"reeds": len(self.items), "need_work": need, **by_action}

    def work(self) -> list[Item]:
        """The items with something to do, in the order of the work."""
        return [item for item in self.items if item.order]

    def by_ordinal(self) -> dict[int, Item]:
        return {item.reed.ordinal: item for item in self.items}

    @cached_property
    def together(self) -> list[Together]:
        """Unisons, octaves and pairs, now and after this pass, the worst first."""
        readings = {item.reed.ordinal: item.reading for item in self.items}
        after = {item.reed.ordinal: item.after_cents for item in self.items if item.after_cents is not None}
        return together(self.instrument, readings, after)

    def beating(self) -> list[Together]:
        """Those that beat otherwise than they should now: first what one breath sounds, the worst first in each."""
        over = [one for one in self.together if one.off_hz is not None and one.off_hz > one.goal_hz]
        return sorted(over, key=lambda one: not one.at_once)


def plan(
    evidence: Evidence, offsets: Mapping[int, Offset] | None = None, kept: Mapping[int, Reading] | None = None
) -> Plan:
    """The plan that follows from what is known; a reading of every reed must be.

    `offsets`: of readings in this state from those on the bench; `kept`: earlier readings of reeds that were good and
    not worked since, for those not sounded this time. Both by ordinal.
    """
    instrument = evidence.instrument
    found = causes(evidence)
    back = {action: evidence.settled(action) for action in MOVED}
    drafts = [
        _kept(reed, evidence, kept or {}) or _item(reed, evidence, found.get(reed.ordinal, ()), back)
        for reed in instrument.reeds
    ]
    plates = {plate: place for place, plate in enumerate(instrument.plates)}
    drafts.sort(key=lambda item: _work_order(item, plates))
    needed = sum(item.action != "leave" for item in drafts)
    items = [
        replace(item, order=place if place <= needed else 0, offset=(offsets or {}).get(item.reed.ordinal))
        for place, item in enumerate(drafts, start=1)
    ]
    return Plan(instrument, tuple(items), back)


def _kept(reed: InstrumentReed, evidence: Evidence, kept: Mapping[int, Reading]) -> Item | None:
    """The line of a reed that was good and has not been sounded this time; None where another has to be found."""
    earlier, tolerance = kept.get(reed.ordinal), evidence.instrument.order.tolerance_cents
    if (
        evidence.readings[reed.ordinal].standing
        or earlier is None
        or earlier.cents is None
        or earlier.u95_cents is None
    ):
        return None
    if abs(earlier.cents) + earlier.u95_cents > tolerance:
        return None
    why = f"Read {signed(earlier.cents)} ± {earlier.u95_cents:.1f} cents in an earlier survey: good, not sounded since."
    return Item(0, reed, earlier, "good", "leave", "", 0.0, None, None, why)


def _item(reed: InstrumentReed, evidence: Evidence, found: tuple[Cause, ...], back: Mapping[str, Settling]) -> Item:
    reading = evidence.readings[reed.ordinal]
    tolerance = evidence.instrument.order.tolerance_cents

    def item(verdict: str, action: str, why: str) -> Item:
        return Item(0, reed, reading, verdict, action, "", 0.0 if action == "leave" else None, None, None, why, found)

    if found:
        first = min(found, key=lambda cause: not cause.look)
        return item("look", "inspect", first.why) if first.look else item("unsure", "sound again", first.why)
    if reading.cents is None or reading.u95_cents is None:
        return item("unsure", "sound again", _unfinished(reading))
    off, u95 = abs(reading.cents), reading.u95_cents
    reads = f"Reads {signed(reading.cents)} ± {u95:.1f} cents, tolerance {tolerance:g}"
    if off + u95 <= tolerance:
        return item("good", "leave", f"{reads}: good with its uncertainty.")
    short = min(STOP_SHORT_CENTS, STOP_WITHIN * max(0.0, tolerance - u95))
    if off - u95 > tolerance:
        return _move(reed, reading, "off", reads, short, back)
    if len(reading.used) < DECIDED_TAKES or off - short <= LEAST_CENTS:
        return item("unsure", "sound again", f"{reads}: the uncertainty straddles the tolerance.")
    return _move(reed, reading, "unsure", f"{reads}, undecided after {len(reading.used)} takes", short, back)


def _move(
    reed: InstrumentReed, reading: Reading, verdict: str, reads: str, short: float, back: Mapping[str, Settling]
) -> Item:
    """The line of a reed whose pitch is to be moved; stops `short` of the target, on the side it comes from."""
    assert reading.cents is not None
    move = -reading.cents
    action = "raise" if move > 0 else "lower"
    rough = abs(move) > ROUGH_CENTS
    if rough:
        short = max(short, ROUGH_SHARE * abs(move))
    half = abs(move) / 2  # it is never sent backwards
    settles = 0.0 if rough else max(-half, min(half, back[action].counted_on))
    stop = (-short if move > 0 else short) - settles
    careful = "creep up" if move > 0 else "the rivet end is three times as sensitive as the tip"
    after = "let it rest, then measure again" if rough else careful
    why = f"{reads}: {action} it, stop at {signed(stop)} in this pass, {after}."
    work_pass = "rough" if rough else "fine"
    return Item(0, reed, reading, verdict, action, work_pass, move, stop, zone_for(move), why, (), settles)


def _unfinished(reading: Reading) -> str:
    heard = reading.standing
    if not heard:
        return "Not sounded in this survey."
    return f"Only {heard} {'take' if heard == 1 else 'takes'} so far, and no two that agree."


def _work_order(item: Item, plates: Mapping[str, int]) -> tuple[float, ...]:
    """Sort key of the order of work (common practice, no source); `plates` by name, as they are sounded.

    Faults first, since air and gap move the pitch; then large moves, largest first; fine work by plate and
    face, so that the instrument is opened few times, base reeds before their partners; last what is only to be
    sounded again.
    """
    stage = ACTIONS.index(item.action) if item.action not in ("raise", "lower") else 1
    largest = -abs(item.move_cents or 0.0) if item.work_pass == "rough" else 0.0
    fine = item.work_pass == "fine"
    return (
        stage,
        fine,
        largest,
        plates[item.reed.plate],
        item.reed.face == "inner",  # the outer face is at hand; for the inner one the plate comes off
        item.reed.hole,
        item.reed.ordinal,
    )
