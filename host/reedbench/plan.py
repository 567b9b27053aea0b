"""From readings to work: for every reed what to do, how far, where, in which order, and why.

    plan(evidence) -> Plan

The verdict compares a reading and its uncertainty with the tolerance, unless something else is to be looked at first
(`causes`). Work order and amounts follow common practice of the trade (no source) where a comment says so; each such
figure is a constant here.
"""

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass, replace
from functools import cached_property

from reedbench.causes import Cause, causes
from reedbench.evidence import MOVED, Evidence
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.item import ACTIONS, Item
from reedbench.jobs import Part, parts
from reedbench.metal import tip_mass, zone_for
from reedbench.reading import Reading
from reedbench.schedule import Stage, stages
from reedbench.settling import Settled, Settling
from reedbench.states import Offset
from reedbench.together import Together, together
from reedbench.words import signed

# Common practice, no source:
ROUGH_CENTS = 10.0  # larger moves are made in a rough pass, settle, and are measured again
ROUGH_SHARE = 0.2  # of a large move left undone in the rough pass
STOP_SHORT_CENTS = 1.5  # a fine raise ends 1 to 2 cents low and creeps up; a fine lowering ends that much high
STOP_WITHIN = 0.25  # ... but inside this share of what the tolerance leaves beside the uncertainty
MOST_MORE = 4  # takes asked for to decide a reed
DECIDED_TAKES = 4  # with so many, one that would need still more is touched and not sounded again
LEAST_CENTS = 0.5  # ... where that brings it nearer by this much
WEIGHT_CENTS = 50.0  # a larger lowering is made with mass on the tip: at the rivet it would weaken what bends most
MOST_THINNER = 0.25  # of the tip's thickness, for the whole move: a reed that would need more is replaced
MOST_MASS = 0.25  # on the tip, of the tongue's own: likewise


@dataclass(frozen=True)
class Plan:
    """All reeds of an instrument, the ones with work first, in the order of the work."""

    instrument: Instrument
    items: tuple[Item, ...]
    back: Mapping[str, Settling]  # what to expect of reeds after they were raised and lowered
    pass_number: int = 0  # which pass the survey followed; 0 before any
    celsius: float | None = None  # how warm the meter was; None where nobody knows
    settles: tuple[Settled, ...] = ()  # what worked reeds of this shop do by themselves, as far as it is known
    remarks: tuple[str, ...] = ()  # what to know about the surveys it stands on, a sentence or two each

    def totals(self) -> dict[str, int]:
        """How many reeds there are, need work (inspecting or metal), and get each action."""
        counts = Counter(item.action for item in self.items)
        need = sum(counts[action] for action in ("inspect", "replace", "raise", "lower"))
        by_action = {action.replace(" ", "_"): counts[action] for action in ACTIONS}
        return {"reeds": len(self.items), "need_work": need, **by_action}

    def work(self) -> list[Item]:
        """The items with something to do, in the order of the work."""
        return [item for item in self.items if item.order]

    @cached_property
    def stages(self) -> list[Stage]:
        """The same, cut into what is done in one go."""
        return stages(self.instrument, self.items)

    @cached_property
    def parts(self) -> list[Part]:
        """What to have at hand for it."""
        return parts((item.reed.ordinal, item.jobs, item.weighted) for item in self.work())

    def by_ordinal(self) -> Mapping[int, Item]:
        return self._by_ordinal

    @cached_property
    def _by_ordinal(self) -> dict[int, Item]:
        return {item.reed.ordinal: item for item in self.items}

    @cached_property
    def together(self) -> list[Together]:
        """Unisons, octaves and pairs, now and after this pass, the worst first."""
        return self.sounding()

    def sounding(self, chords: bool = False) -> list[Together]:
        """The same; with `chords` also the thirds, fourths, fifths and sixths that one breath sounds."""
        readings = {item.reed.ordinal: item.reading for item in self.items}
        after = {item.reed.ordinal: item.after_cents for item in self.items if item.after_cents is not None}
        return together(self.instrument, readings, after, chords)

    def beating(self) -> list[Together]:
        """Those that beat otherwise than they should, now or after this pass: first what one breath sounds, of that
        first what this pass will leave to be set against each other, the worst first in each."""
        over = [one for one in self.together if one.still or (one.off_hz is not None and one.off_hz > one.goal_hz)]
        return sorted(over, key=lambda one: (not one.at_once, self.last(one) is None))

    def last(self, one: Together) -> Item | None:
        """Which of two that one breath sounds is brought to its target last, so that they agree although both are good:
        the one farther from it. None where they will agree, or one of them has something else to come first."""
        both = [self.by_ordinal()[reed.ordinal] for reed in (one.lower, one.upper)]
        if not one.at_once or not one.still or not all(item.settled for item in both):
            return None
        return max(both, key=lambda item: abs(item.after_cents or 0.0))


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
    work = [item for stage in stages(instrument, drafts) for item in stage.items]
    orders = {item.reed.ordinal: order for order, item in enumerate(work, start=1)}
    items = [
        replace(item, order=order, offset=offset) if order or offset else item
        for item in [*work, *(item for item in drafts if item.action == "leave")]
        for order, offset in [(orders.get(item.reed.ordinal, 0), (offsets or {}).get(item.reed.ordinal))]
    ]
    return Plan(instrument, tuple(items), back, settles=tuple(evidence.settles))


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
    more = _more_takes(reading, abs(tolerance - off))
    if more > MOST_MORE and reading.agreeing >= DECIDED_TAKES and off - short > LEAST_CENTS:
        return _move(reed, reading, "unsure", f"{reads}, undecided after {reading.agreeing} takes", short, back)
    more = int(min(more, MOST_MORE))
    takes = "another take" if more == 1 else f"{more} more takes"
    why = f"{reads}: the uncertainty straddles the tolerance, and {takes} may decide."
    return replace(item("unsure", "sound again", why), more_takes=more)


def _more_takes(reading: Reading, margin: float) -> float:
    """So many more should bring the uncertainty down to `margin`: it falls with the root of their number."""
    clock = reading.clock_u95_cents or 0.0
    assert reading.u95_cents is not None
    own, wanted = reading.u95_cents**2 - clock**2, margin**2 - clock**2
    return max(1, math.ceil(reading.agreeing * (own / wanted - 1))) if wanted > 0 else math.inf


def _move(
    reed: InstrumentReed, reading: Reading, verdict: str, reads: str, short: float, back: Mapping[str, Settling]
) -> Item:
    """The line of a reed whose pitch is to be moved; stops `short` of the target, on the side it comes from."""
    assert reading.cents is not None
    move = -reading.cents
    if zone_for(move).thinning(move) > MOST_THINNER if move > 0 else tip_mass(move) > MOST_MASS:
        why = f"{reads}: farther than a tongue can be brought; put in one that is nearer."
        return Item(0, reed, reading, verdict, "replace", "", None, None, None, why)
    action = "raise" if move > 0 else "lower"
    zone = None if move < -WEIGHT_CENTS else zone_for(move)
    rough = abs(move) > ROUGH_CENTS
    if rough:
        short = max(short, ROUGH_SHARE * abs(move))
    half = abs(move) / 2  # it is never sent backwards
    settles = 0.0 if rough else max(-half, min(half, back[action].counted_on))
    stop = (-short if move > 0 else short) - settles
    careful = "creep up" if move > 0 else "the rivet end is three times as sensitive as the tip"
    after = "let it rest, then measure again" if rough else careful
    how = " with mass on its tip" if zone is None else ""
    why = f"{reads}: {action} it{how}, stop at {signed(stop)} in this pass, {after}."
    work_pass = "rough" if rough else "fine"
    return Item(0, reed, reading, verdict, action, work_pass, move, stop, zone, why, (), settles)


def _unfinished(reading: Reading) -> str:
    heard = reading.standing
    if not heard:
        return "Not sounded in this survey."
    return f"Only {heard} {'take' if heard == 1 else 'takes'} so far, and no two that agree."
