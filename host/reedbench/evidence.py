"""What is known about an instrument's reeds beside this survey's readings: how they read before, and how loud.

What all reeds did alike, as when the room was colder, is taken off wherever a reed is compared with its own past.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from statistics import median

from reedbench.instrument import Instrument
from reedbench.reading import Reading, Take
from reedbench.settling import Settled, Settling, settling
from reedbench.tuning import cents_between, raised

# Common practice, no source:
KEEPS_CENTS = 15.0  # a reed this near its last accepted reading still keeps it
REST_LEAST = 4  # reeds that make up "the others"
BESIDE = 3  # reeds on either side in pitch that a reed is compared with
MOVED = ("raise", "lower")


@dataclass(frozen=True)
class Earlier:
    """One reed in an earlier survey."""

    hz: float
    u95_cents: float
    action: str = ""  # what was done after it: "raise", "lower", "inspect", or "" for nothing
    stop_hz: float | None = None  # what it was to read at the end of that pass, where its pitch was moved


@dataclass(frozen=True)
class Step:
    """How far a reed moved from one survey to the next, beyond what all that were left alone moved."""

    cents: float
    u95_cents: float


@dataclass(frozen=True)
class Evidence:
    """All by ordinal; anything but the readings may be missing.

    `accepted`: hertz of the last accepted reading, for reeds that nothing was done to since. `history`: earlier surveys
    that can be compared with this one (same state), the oldest first. `levels`: how loud in this survey, dBFS.
    `settles`: what worked reeds of this shop do by themselves. `days`: since the survey before; None where nobody knows
    """

    instrument: Instrument
    readings: Mapping[int, Reading]
    accepted: Mapping[int, float] = field(default_factory=dict)
    history: Sequence[Mapping[int, Earlier]] = ()
    levels: Mapping[int, float] = field(default_factory=dict)
    settles: Sequence[Settled] = ()
    days: float | None = None

    @cached_property
    def cents(self) -> dict[int, float]:
        """Readings from target, of the reeds that have one."""
        return {n: one.cents for n, one in self.readings.items() if one.cents is not None}

    @cached_property
    def own(self) -> dict[int, float]:
        """Cents that each reed moved from its last accepted reading, beyond what all moved."""
        own, _ = apart({n: cents_between(self._now[n].hz, hz) for n, hz in self.accepted.items() if n in self._now})
        return own

    def step(self, place: int = -1) -> Mapping[int, Step]:
        """From the survey at that place of the history to the next, the last one to this."""
        place %= len(self.history)
        if place not in self._steps:
            after = self.history[place + 1] if place + 1 < len(self.history) else self._now
            self._steps[place] = _step(self.history[place], after)
        return self._steps[place]

    @cached_property
    def _steps(self) -> dict[int, dict[int, Step]]:
        """Those that were asked for."""
        return {}

    def settled(self, action: str) -> Settling:
        """What to expect of reeds to be raised, or lowered, by what those of the last pass did and the shop's record.

        One that lies nearer to where it was than to where it was to stop has not been worked.
        """
        reeds = self.instrument.reeds
        stops = {
            n: cents_between(before.stop_hz, reeds[n].target_hz)
            for n, before in (self.history[-1].items() if self.history else ())
            if before.stop_hz
            and before.action == action
            and n in self._now
            and abs(cents_between(self._now[n].hz, before.stop_hz)) < abs(cents_between(self._now[n].hz, before.hz))
        }
        return settling(stops, self.cents, [one for one in self.settles if one.action == action], self.days)

    @cached_property
    def _now(self) -> dict[int, Earlier]:
        reeds = self.instrument.reeds
        return {
            n: Earlier(raised(reeds[n].target_hz, c), self.readings[n].u95_cents or 0.0) for n, c in self.cents.items()
        }

    @cached_property
    def _by_pitch(self) -> list[int]:
        return [reed.ordinal for reed in sorted(self.instrument.reeds, key=lambda one: (one.target_hz, one.ordinal))]

    def keeps(self, ordinal: int) -> bool:
        """Whether the reed still reads what was accepted, or what it read when it was last looked at."""
        if ordinal in self.own and abs(self.own[ordinal]) <= KEEPS_CENTS:
            return True
        looked_at = [one[ordinal].hz for one in self.history if ordinal in one and one[ordinal].action == "inspect"]
        now = self._now.get(ordinal)
        return now is not None and bool(looked_at) and abs(cents_between(now.hz, looked_at[-1])) <= KEEPS_CENTS

    def action(self, ordinal: int, survey: int = -1) -> str:
        """What the plan after that earlier survey had for the reed's pitch."""
        earlier = self.history[survey].get(ordinal) if self.history else None
        return earlier.action if earlier else ""

    def levels_beside(self, ordinal: int) -> list[float]:
        """Levels of the reeds next to it in pitch."""
        place = self._by_pitch.index(ordinal)
        beside = [*self._by_pitch[max(0, place - BESIDE) : place], *self._by_pitch[place + 1 : place + 1 + BESIDE]]
        return [self.levels[n] for n in beside if n in self.levels]


def levels(takes: Iterable[Take]) -> dict[int, float]:
    """How loud each reed sounded, dBFS: the middle of its takes."""
    by_reed: dict[int, list[float]] = {}
    for take in takes:
        if take.hz and not take.withdrawn:
            by_reed.setdefault(take.ordinal, []).append(take.level_dbfs)
    return {ordinal: median(heard) for ordinal, heard in by_reed.items()}


def _step(before: Mapping[int, Earlier], after: Mapping[int, Earlier]) -> dict[int, Step]:
    both = [n for n in after if n in before]
    moved = {n: cents_between(after[n].hz, before[n].hz) for n in both}
    own, _ = apart(moved, [n for n in both if before[n].action not in MOVED])
    return {n: Step(own[n], (before[n].u95_cents ** 2 + after[n].u95_cents ** 2) ** 0.5) for n in both}


def apart(moved: Mapping[int, float], left_alone: Iterable[int] | None = None) -> tuple[dict[int, float], float]:
    """(moves of reeds without what those left alone have in common, which is 0 where they are too few; that).

    `left_alone`: all, where it is not said.
    """
    alone = [moved[n] for n in (moved if left_alone is None else left_alone)]
    common = median(alone) if len(alone) >= REST_LEAST else 0.0
    return {n: cents - common for n, cents in moved.items()}, common
