"""A shop that works plans on reeds which do not obey the planner's beam, and knows what they truly read.

Each reed answers a stroke by its own coefficient, drawn within 50 % of the beam's; no two strokes take the same metal;
a worked reed is warm and reads flat while it is on the bench, and goes back by some of its move as it settles. The shop
sees readings only. What is unsure it sounds again before a pass, as the plan asks. It files in rounds, sounds the reed
twice after each, learns how far a stroke goes on this reed, and stops where the plan says so. All of these figures are
common practice, without a source.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

import numpy as np
from reedbench.firmware.wire import agree
from reedbench.instrument import Instrument
from reedbench.item import Item
from reedbench.plan import Plan
from reedbench.reading import Reading, Take, readings
from shop import take

STROKE_CENTS = 0.8  # by the beam, tip or rivet: the shop takes a finer abrasive where a stroke goes farther
STROKES_DIFFER = (0.5, 1.5)  # metal of one stroke, in its usual amount
REEDS_DIFFER = (0.5, 1.5)  # cents that a reed moves for them, in those of the beam
WARM_CENTS = (0.0, 1.0)  # how much flatter a reed reads on the bench, just worked
SETTLES = (0.0, 0.05)  # share of a pass's move that is gone afterwards
SETTLED_CENTS = 0.2  # ... and how much it moves for no reason, RMS
ROUNDS = 20  # of filing and sounding one reed, at most, in one pass
SOUNDED_AGAIN = 2  # times that a reed which the plan finds unsure is sounded again, at most, before a pass
BOLD = 0.6  # share of what is left that is filed away before sounding again

# From an instrument, its readings, and the lines of the plan that were worked in the last pass.
Planner = Callable[[Instrument, dict[int, Reading], dict[int, Item]], Plan]


@dataclass
class Shop:
    """One instrument on the bench. `cents`: what each reed truly reads, from its target."""

    instrument: Instrument
    rng: np.random.Generator
    scatter: float = 0.35  # between soundings, RMS
    outliers: float = 0.02
    cents: np.ndarray = field(init=False)
    heard: list[Take] = field(init=False, default_factory=list)
    past: list[float] = field(
        init=False, default_factory=list
    )  # how far each worked reed lies past its target, settled

    def __post_init__(self) -> None:
        """As instruments come in: most reeds a little out, some worn flat, some filed too far."""
        count = len(self.instrument.reeds)
        self.cents = self.rng.normal(-0.8, 2.6, count)
        worn = self.rng.random(count) < 0.2
        sharp = ~worn & (self.rng.random(count) < 0.1)
        self.cents[worn] += self.rng.normal(-7, 5, worn.sum())
        self.cents[sharp] += self.rng.uniform(4, 14, sharp.sum())
        self._coefficients = self.rng.uniform(*REEDS_DIFFER, count)

    def survey(self, ordinals: Iterable[int]) -> dict[int, Reading]:
        """Readings of a new survey of these reeds, each sounded as often as the meter asks for."""
        self.heard = []
        for ordinal in ordinals:
            points: list[tuple[float, float]] = []
            while agree.verdict(points) == "again":
                points.append((self._sound(ordinal), 0.05))
        return self._read()

    def _read(self) -> dict[int, Reading]:
        read = readings(self.instrument, self.heard)
        return {one.ordinal: read[one.ordinal] for one in self.heard}

    def sound_again(self, plan: Plan) -> dict[int, Reading]:
        """The same survey with as many more takes of every reed that is unsure as the plan asks for."""
        for item in plan.work():
            if item.action == "sound again":
                for _ in range(item.more_takes or 2):
                    self._sound(item.reed.ordinal)
        return self._read()

    def _sound(self, ordinal: int) -> float:
        cents = float(self.cents[ordinal] + self.rng.normal(0, self.scatter))
        if self.rng.random() < self.outliers:
            cents += self.rng.choice([-1, 1]) * self.rng.uniform(2, 15)
        number = 1 + sum(one.ordinal == ordinal for one in self.heard)
        self.heard.append(take(self.instrument, ordinal, number, cents, sequence=len(self.heard)))
        return cents

    def work(self, plan: Plan) -> None:
        """One pass: every reed that the plan moves, as far as the plan says."""
        for item in plan.work():
            if item.action in ("raise", "lower"):
                self._file(item)

    def _on_bench(self, ordinal: int, warm: float) -> float:
        """What two soundings say on average."""
        return float(self.cents[ordinal] - warm + self.rng.normal(0, self.scatter, 2).mean())

    def _file(self, item: Item) -> None:
        ordinal, before = item.reed.ordinal, float(self.cents[item.reed.ordinal])
        up = 1.0 if item.action == "raise" else -1.0
        warm, filed, stroke = 0.0, 0, STROKE_CENTS
        first = reads = self._on_bench(ordinal, warm)
        for _ in range(ROUNDS):
            left = up * (item.stop_cents - reads)
            if left < stroke / 2:
                break
            strokes = max(1, int(BOLD * left / stroke))
            filed += strokes
            metal = self.rng.uniform(*STROKES_DIFFER, strokes).sum()
            self.cents[ordinal] += up * STROKE_CENTS * self._coefficients[ordinal] * metal
            warm = warm or self.rng.uniform(*WARM_CENTS)
            reads = self._on_bench(ordinal, warm)
            moved = up * (reads - first)
            stroke = min(max(moved / filed, STROKE_CENTS), 2 * STROKE_CENTS)
        if not filed:
            return  # the bench says otherwise than the survey did
        moved = self.cents[ordinal] - before
        self.cents[ordinal] += self.rng.normal(0, SETTLED_CENTS) - self.rng.uniform(*SETTLES) * moved
        self.past.append(up * float(self.cents[ordinal]))


@dataclass(frozen=True)
class Outcome:
    """How an instrument left the shop."""

    passes: int  # of work done
    good: bool  # whether the last plan found every reed good
    worst_cents: float  # how far the worst reed truly lies from its target
    most_past_cents: float  # how far past its target any reed ever was, settled after a pass; 0 for none
    work: int  # reeds worked on, each pass counted


def worked(
    instrument: Instrument, planner: Planner, rng: np.random.Generator, passes: int = 3, **shop: float
) -> Outcome:
    """Work plans on an instrument until every reed is good, for `passes` at most.

    After a pass the shop surveys again what was not good before it; the others keep their readings.
    """
    bench = Shop(instrument, rng, **shop)
    known = bench.survey(range(len(instrument.reeds)))
    last: dict[int, Item] = {}
    done = 0
    while True:
        plan = planner(instrument, known, last)
        for _ in range(SOUNDED_AGAIN):
            if any(item.action == "sound again" for item in plan.work()):
                known |= bench.sound_again(plan)
                plan = planner(instrument, known, last)
        if to_look_at := {item.reed.ordinal: item for item in plan.work() if item.action == "inspect"}:
            known |= bench.survey(to_look_at)  # nothing is found, since these reeds are only out of tune
            plan = planner(instrument, known, last | to_look_at)
        if not plan.work() or done == passes:
            break
        bench.work(plan)
        done += 1
        last = {item.reed.ordinal: item for item in plan.work() if item.action in ("raise", "lower")}
        known |= bench.survey([item.reed.ordinal for item in plan.work()])
    return Outcome(
        passes=done,
        good=not plan.work(),
        worst_cents=float(np.abs(bench.cents).max()),
        most_past_cents=max([0.0, *bench.past]),
        work=len(bench.past),
    )
