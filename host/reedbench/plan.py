"""From readings to work: for every reed what to do, how far, where, in which order, and why.

    plan(instrument, readings) -> Plan

The verdict compares a reading and its uncertainty with the tolerance. Work order and amounts follow common
practice of the trade (no source) where a comment says so; each such figure is a constant here.
"""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from reedbench.advice import astray, look_first, rest_median
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.metal import Zone, zone_for
from reedbench.reading import Reading
from reedbench.tuning import beat_hz, raised
from reedbench.words import signed

SCHEMA = "reedbench.plan/1"

# Common practice, no source:
ROUGH_CENTS = 10.0  # larger moves are made in a rough pass, settle, and are measured again
ROUGH_SHARE = 0.2  # of a large move left undone in the rough pass
STOP_SHORT_CENTS = 1.5  # a fine raise ends 1 to 2 cents low and creeps up; a fine lowering ends that much high
STOP_WITHIN = 0.75  # ... but inside this share of the tolerance

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


@dataclass(frozen=True)
class Pair:
    """Two reeds that are tuned to beat with each other."""

    base: Item
    partner: Item

    @property
    def target_beat_hz(self) -> float:
        """Beats a second that they are to make."""
        return beat_hz(self.base.reed.target_hz, self.partner.reed.target_hz)

    @property
    def beat_hz(self) -> float | None:
        """Beats a second that they make by their readings; None where one of them has none."""
        if self.base.hz is None or self.partner.hz is None:
            return None
        return beat_hz(self.base.hz, self.partner.hz)

    @property
    def words(self) -> str:
        """For people: "beats 1.4, wanted 2.0"; beats a second."""
        now = "" if self.beat_hz is None else f"beats {self.beat_hz:.1f}, "
        return f"{now}wanted {self.target_beat_hz:.1f}"


@dataclass(frozen=True)
class Plan:
    """All reeds of an instrument, the ones with work first, in the order of the work."""

    instrument: Instrument
    items: tuple[Item, ...]

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

    def pairs(self) -> list[Pair]:
        """The pairs of reeds that are to beat, in the order of the layout."""
        items = self.by_ordinal()
        partners = [item for _, item in sorted(items.items()) if item.reed.base is not None]
        return [Pair(items[item.reed.base], item) for item in partners if item.reed.base is not None]

    def pairs_with_work(self) -> list[Pair]:
        """Those of which a reed has something to be done."""
        return [pair for pair in self.pairs() if pair.base.order or pair.partner.order]


def plan(instrument: Instrument, readings: Mapping[int, Reading]) -> Plan:
    """The plan for `instrument` from one survey's readings (one for every reed, by ordinal)."""
    drafts = [_item(reed, readings, instrument.order.tolerance_cents) for reed in instrument.reeds]
    plates = {plate: place for place, plate in enumerate(instrument.plates)}
    drafts.sort(key=lambda item: _work_order(item, plates))
    needed = sum(item.action != "leave" for item in drafts)
    items = [replace(item, order=place if place <= needed else 0) for place, item in enumerate(drafts, start=1)]
    return Plan(instrument, tuple(items))


def _item(reed: InstrumentReed, readings: Mapping[int, Reading], tolerance: float) -> Item:
    reading = readings[reed.ordinal]
    rest = rest_median(reed.ordinal, readings)

    def item(verdict: str, action: str, why: str) -> Item:
        return Item(0, reed, reading, verdict, action, "", 0.0 if action == "leave" else None, None, None, why)

    if reading.cents is None or reading.u95_cents is None:
        if reading.state == "again":
            return item("unsure", "sound again", _unfinished(reading))
        return item("look", "inspect", look_first(reading, rest))
    if reading.disagreeing >= len(reading.used) or astray(reading.cents, rest):
        return item("look", "inspect", look_first(reading, rest))
    off = abs(reading.cents)
    reads = f"Reads {signed(reading.cents)} ± {reading.u95_cents:.1f} cents, tolerance {tolerance:g}"
    if off + reading.u95_cents <= tolerance:
        return item("good", "leave", f"{reads}: good with its uncertainty.")
    if off - reading.u95_cents <= tolerance:
        return item("unsure", "sound again", f"{reads}: the uncertainty straddles the tolerance.")
    return _move(reed, reading, reads, tolerance)


def _move(reed: InstrumentReed, reading: Reading, reads: str, tolerance: float) -> Item:
    """The line of a reed whose pitch is to be moved; stops on the side it comes from."""
    assert reading.cents is not None
    move = -reading.cents
    rough = abs(move) > ROUGH_CENTS
    short = min(STOP_SHORT_CENTS, STOP_WITHIN * tolerance)
    if rough:
        short = max(short, ROUGH_SHARE * abs(move))
    stop = -short if move > 0 else short
    action = "raise" if move > 0 else "lower"
    careful = "creep up" if move > 0 else "the rivet end is three times as sensitive as the tip"
    after = "let it rest, then measure again" if rough else careful
    why = f"{reads}: {action} it, stop at {signed(stop)} in this pass, {after}."
    return Item(0, reed, reading, "off", action, "rough" if rough else "fine", move, stop, zone_for(move), why)


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


def plan_as_dict(plan: Plan) -> dict[str, Any]:
    """The plan for other programs, reeds in the order of the layout; the keys are stable within SCHEMA."""
    return {
        "schema": SCHEMA,
        "instrument": plan.instrument.to_dict(),
        "totals": plan.totals(),
        "reeds": [reed_as_dict(item) for _, item in sorted(plan.by_ordinal().items())],
        "pairs": [_pair_as_dict(pair) for pair in plan.pairs()],
    }


def reed_as_dict(item: Item) -> dict[str, Any]:
    """One reed of `plan_as_dict`."""
    reed, reading = item.reed, item.reading
    return {
        "ordinal": reed.ordinal,
        "place": reed.place,
        "hole": reed.hole,
        "breath": reed.breath,
        "slide": reed.slide,
        "member": reed.member,
        "plate": reed.plate,
        "face": reed.face,
        "midi": reed.midi,
        "note": reed.note,
        "target_hz": round(reed.target_hz, 4),
        "reading_cents": _rounded(reading.cents),
        "u95_cents": _rounded(reading.u95_cents),
        "clock_u95_cents": _rounded(reading.clock_u95_cents),
        "takes_used": list(reading.used),
        "takes_left_out": [{"take": left.number, "why": left.why} for left in reading.left_out],
        "verdict": item.verdict,
        "action": item.action,
        "pass": item.work_pass,
        "order": item.order,
        "move_cents": _rounded(item.move_cents),
        "stop_cents": _rounded(item.stop_cents),
        "zone": item.zone.name if item.zone else "",
        "where": item.where,
        "thinner_percent": _rounded(item.thinner_percent),
        "why": item.why,
    }


def _pair_as_dict(pair: Pair) -> dict[str, Any]:
    return {
        "base": pair.base.reed.ordinal,
        "partner": pair.partner.reed.ordinal,
        "target_beat_hz": _rounded(pair.target_beat_hz),
        "beat_hz": _rounded(pair.beat_hz),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0
