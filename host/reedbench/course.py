"""The course of the work in words: what each stage is, what to sound after it and when, and where to stop.

Common practice, no source.
"""

from collections.abc import Iterator, Sequence
from itertools import groupby

from reedbench.instrument import InstrumentReed
from reedbench.jobs import Part
from reedbench.layouts import Layout
from reedbench.plan import Plan
from reedbench.schedule import Stage, chamber
from reedbench.settling import WITHIN
from reedbench.together import GOAL_HZ
from reedbench.words import signed

# How to get at a reed, on a comb and elsewhere.
ON_COMB = {
    "outer": "Outer face, at hand with the covers off.",
    "inner": "Take the plate off the comb and turn it over. Outer reeds of the same chambers come with the inner ones.",
}
ELSEWHERE = {
    "outer": "Outer face, at hand once it is out.",
    "inner": "Inner face, towards the chamber: work through the slot's other side, or take the reed off. Outer reeds "
    "of the same chambers come with them.",
    "": "One reed after the other, as they stand.",
}
NOTES = {
    "look": "No metal comes off these until the cause is found and they are sounded again.",
    "replace": "Rivet, centre and gap the new tongue before anything else is tuned: it is the largest move of all.",
    "rough": "Largest first, and with it what shares its chamber.",
    "again": "Nothing to cut yet: a few more takes may decide.",
}
TITLES = {"look": "Look first", "replace": "Replace", "rough": "Rough pass", "again": "Sound again"}
THEN = {
    "again": "Do it before anything is opened: survey these once more in the same state, for the same pass and on the "
    "same day. Their takes are put together, and a new plan says which of them join the work.",
    "look": "Sound each again as soon as its cause is mended, twice.",
    "replace": "Sound each when it is in, and again the next day: a new tongue settles.",
    "fine": "Let the warmth of your hand leave, ten minutes, then sound each twice.",
}
LAST = (
    "Last, when all are good: sound together what still beats, and bring the one named nearer its target, by ear, "
    "until it beats less than {goal:g} a second off what is wanted."
)
STOP = (
    "Stop when a survey finds every reed good with its uncertainty: cutting makes no good reed better. What is not "
    "good after three passes wants looking at, not filing."
)
DONE = (
    "Every reed is good with its uncertainty: stop here. Play it, and check it {kind} after a week or so, when all "
    "has settled."
)
DAY, WEEKS = (when for when, _ in WITHIN[:2])
WAITS = {  # how long to wait: usually, where worked reeds are known to move meanwhile, and where they hardly do
    DAY: ("wait until the next day, then survey", "wait until the next day, then survey", "do not wait: survey"),
    WEEKS: (", a week later where time allows", ", two weeks later", "; you need not wait for that"),
}
PAST = {"raise": "raised", "lower": "lowered"}
MOST_NAMED = 6  # reeds


def title(layout: Layout, stage: Stage) -> str:
    """What the stage is called."""
    return TITLES.get(stage.name) or f"Fine pass, {layout.plate_name(stage.plate)}"


def note(layout: Layout, stage: Stage) -> str:
    """How to go about it."""
    return NOTES.get(stage.name) or (ON_COMB if layout.has_comb else ELSEWHERE)[stage.face]


def then(plan: Plan, stage: Stage) -> str:
    """What to sound after the stage, and when."""
    if stage.name != "rough":
        return THEN[stage.name]
    beside = partners(plan, stage)
    also = f" Survey with them what shares their chambers: {named(beside)}." if beside else ""
    return f"They rest until the next day, an hour at least, while the fine pass goes on.{also}"


def partners(plan: Plan, stage: Stage) -> list[InstrumentReed]:
    """Reeds that share a chamber with those of the stage, and are not among them."""
    own = {item.reed.ordinal for item in stage.items}
    chambers = {chamber(item.reed) for item in stage.items}
    return [reed for reed in plan.instrument.reeds if chamber(reed) in chambers and reed.ordinal not in own]


def course(plan: Plan) -> Iterator[str]:
    """Stage by stage what is done and what is sounded after it, then what follows; a sentence or a few each."""
    for name, group in groupby(plan.stages, key=lambda stage: stage.name):
        stages = list(group)
        layout = plan.instrument.layout
        if name == "fine":
            yield f"Fine pass, {'; '.join(_fine(layout, stage) for stage in stages)}. {THEN['fine']}"
        else:
            yield f"{TITLES[name]}, {numbers(stages[0])}. {then(plan, stages[0])}"
    yield from ending(plan)


def _fine(layout: Layout, stage: Stage) -> str:
    off = {"outer": " at hand", "inner": " taken off"}.get(stage.face, "") if layout.has_comb else ""
    return f"{layout.plate_name(stage.plate)}{off} {numbers(stage)}"


def numbers(stage: Stage) -> str:
    """Places in the order of work: "8 to 11"."""
    first, last = stage.items[0].order, stage.items[-1].order
    return f"{first} to {last}" if last > first else f"{first}"


def ending(plan: Plan) -> Iterator[str]:
    """What follows the last stage: what to set against each other, what to survey, and when to stop."""
    work = plan.work()
    kind = "assembled" if plan.instrument.layout.has_comb else "closed"
    if any(plan.last(one) for one in plan.together):
        yield LAST.format(goal=GOAL_HZ)
    if not work:
        yield DONE.format(kind=kind)
        return
    if any(item.moved or item.jobs for item in work):
        what = "the reed of this plan" if len(work) == 1 else f"the {len(work)} reeds of this plan"
        wait, why = _wait(plan, DAY)
        yield (
            f"After the last stage {wait} {what} and a few good ones, which show whether the room moved them all. When "
            f"you load the instrument for that, say that it follows pass {plan.pass_number + 1}.{why}"
        )
    yield STOP
    wait, why = _wait(plan, WEEKS)
    yield f"Before it leaves the shop survey it once more {kind}{wait}.{why}"


def _wait(plan: Plan, when: str) -> tuple[str, str]:
    """(how long to wait before a survey, why in a sentence where the record knows what reeds do meanwhile)."""
    usual, longer, at_once = WAITS[when]
    ways = [way for way in PAST if any(item.moved and item.action == way for item in plan.items)]
    seen = [one for one in plan.settles if one.when == when and one.action in ways]
    words = ", ".join(f"{PAST[one.action]} ones {signed(one.cents)} ± {one.u95_cents:.1f}" for one in seen)
    why = f" From a survey to one {when} this shop's worked reeds moved by themselves: {words} cents."
    if ways and [one.action for one in seen if one.still] == ways:
        return at_once, why
    return (longer, why) if any(one.moves for one in seen) else (usual, "")


def named(reeds: Sequence[InstrumentReed]) -> str:
    """A few of them by name: "3 blow; 4 draw and 7 more"."""
    shown = "; ".join(reed.label for reed in reeds[:MOST_NAMED])
    more = len(reeds) - MOST_NAMED
    return shown + (f" and {more} more" if more > 0 else "")


def part_words(plan: Plan, part: Part) -> str:
    """A part with how many, and what for."""
    reeds = [plan.instrument.reeds[ordinal] for ordinal in part.ordinals]
    when = "needed" if part.needed else "have at hand"
    notes = " (" + ", ".join(reed.note for reed in reeds[:MOST_NAMED]) + ")" if part.name == "reed" else ""
    return f"{when}: {part.name}{notes}, for {named(reeds)}"
