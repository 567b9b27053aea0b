"""The plan for other programs: what `--json` prints. docs/json_keys.py says what each key holds."""

from typing import Any

from reedbench.course import ending, partners, then
from reedbench.item import Item
from reedbench.plan import Plan
from reedbench.reading import Reading
from reedbench.schedule import Stage
from reedbench.settling import Settled
from reedbench.together import Together

SCHEMA = "reedbench.plan/2"


def plan_as_dict(plan: Plan) -> dict[str, Any]:
    """The plan for other programs, reeds in the order of the layout; the keys are stable within SCHEMA."""
    return {
        "schema": SCHEMA,
        "instrument": plan.instrument.to_dict(),
        "celsius": _rounded(plan.celsius),
        "remarks": list(plan.remarks),
        "totals": plan.totals(),
        "stages": [_stage(plan, stage) for stage in plan.stages],
        "afterwards": list(ending(plan)),
        "settled": [settled_as_dict(one) for one in plan.settles],
        "parts": [{"part": one.name, "needed": one.needed, "reeds": list(one.ordinals)} for one in plan.parts],
        "reeds": [reed_as_dict(item) for _, item in sorted(plan.by_ordinal().items())],
        "together": [{**together_as_dict(one), "last": _last(plan, one)} for one in plan.together],
    }


def _last(plan: Plan, one: Together) -> int | None:
    item = plan.last(one)
    return item.reed.ordinal if item else None


def _stage(plan: Plan, stage: Stage) -> dict[str, Any]:
    """One entry of `stages`."""
    own = {item.reed.ordinal for item in stage.items}
    beside = {reed.ordinal for reed in partners(plan, stage)} if stage.name == "rough" else set()
    return {
        "stage": stage.name,
        "plate": stage.plate,
        "face": stage.face,
        "reeds": [item.reed.ordinal for item in stage.items],
        "sound_after": sorted(own | beside),
        "then": then(plan, stage),
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
        "earlier_takes_used": earlier_takes(reading),
        "takes_left_out": [{"take": left.number, "survey": left.survey, "why": left.why} for left in reading.left_out],
        "verdict": item.verdict,
        "action": item.action,
        "pass": item.work_pass,
        "order": item.order,
        "move_cents": _rounded(item.move_cents),
        "stop_cents": _rounded(item.stop_cents),
        "bench_stop_cents": _rounded(item.bench_stop_cents),
        "more_takes": item.more_takes,
        "jobs": list(item.jobs),
        "zone": item.zone.name if item.zone else "",
        "where": item.where,
        "thinner_percent": _rounded(item.thinner_percent),
        "strokes": item.strokes.about if item.strokes else None,
        "strokes_fewest": item.strokes.fewest if item.strokes else None,
        "strokes_most": item.strokes.most if item.strokes else None,
        "tip_mass_percent": _rounded(item.tip_mass_percent),
        "why": item.why,
    }


def settled_as_dict(one: Settled) -> dict[str, Any]:
    """What worked reeds of a kind did by themselves."""
    return {
        "action": one.action,
        "when": one.when,
        "cents": _rounded(one.cents),
        "u95_cents": _rounded(one.u95_cents),
        "reeds": one.reeds,
    }


def earlier_takes(reading: Reading) -> list[dict[str, int]]:
    """The takes of earlier surveys that it stands on."""
    return [{"survey": survey, "take": number} for survey, number in reading.earlier]


def together_as_dict(one: Together) -> dict[str, Any]:
    """One entry of `together`; beats a second, above zero where the interval is wide."""
    return {
        "lower": one.lower.ordinal,
        "upper": one.upper.ordinal,
        "interval": one.interval.name,
        "at_once": one.at_once,
        "wanted_hz": _rounded(one.wanted_hz),
        "goal_hz": _rounded(one.goal_hz),
        "now_hz": _rounded(one.now_hz),
        "u95_hz": _rounded(one.u95_hz),
        "after_hz": _rounded(one.after_hz),
        "mean_cents": _rounded(one.mean_cents),
    }


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(value, 3) + 0.0
