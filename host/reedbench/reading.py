"""From takes to readings: what all takes of one reed in a survey say together, and how sure that is.

Which takes count is decided by the rule the meter runs too (wire.agree). Those takes are combined by
weights of 1 / (own variance + the survey's between-take variance). The expanded uncertainty covers 95 %
(NIST TN 1297, after the GUM) and counts what the takes that were left out say too: they may have been the good
ones. The clock's uncertainty is common to all takes of a survey, so averaging does not reduce it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import groupby

from reedbench.control import Control, Sounded
from reedbench.errors import BadInput
from reedbench.firmware.wire import agree, record
from reedbench.firmware.wire.record import STATES
from reedbench.instrument import Instrument
from reedbench.repeatability import NORMAL, USUAL, Repeatability, pooled
from reedbench.tuning import cents_between, raised

FLAG_WORDS = {
    "unsteady": "the pitch would not settle",
    "pulled": "the breath pulled the pitch",
    "short": "not enough steady tone",
    "disagree": "the meter's two ways to measure differ",
    "clipped": "too loud for the microphone",
    "gap": "the meter lost samples",
    "weak": "hardly above the noise of the room",
    "two-reeds": "another reed sounded with it",
    "wavering": "the level rose and fell",
}


@dataclass(frozen=True)
class Take:
    """One sounding of one reed, as the ledger keeps it."""

    ordinal: int
    number: int  # which take of this reed in its survey, from 1
    sequence: int  # of its record in the meter's journal: the order of sounding
    state: str = STATES[0]  # how it was sounded, in words
    hz: float | None = None  # None where the meter found no figure
    se_cents: float = 0.0  # random standard error, the clock's apart
    flags: tuple[str, ...] = ()
    level_dbfs: float = 0.0
    drift_cents_per_s: float = 0.0
    clock_u_cents: float = 0.0  # standard uncertainty of the meter's clock
    withdrawn: bool = False  # the reed was sounded afresh afterwards
    role: int = 0  # 0 in the reed's own turn, 1, 2 where it was sounded again as the control reed
    unix_s: int | None = None  # when, in seconds since 1970; None where nobody knows
    up_s: float | None = None  # when, in seconds from the meter's power-up; None where the meter did not say
    scatter_cents: float = agree.USUAL_CENTS  # what the survey had scattered by before it, as the meter had it
    board_celsius: float | None = None  # how warm the meter was
    survey: int | None = None  # number of an earlier survey that it is from; None for the one that is read

    @property
    def trusted(self) -> bool:
        """Whether the take may enter a reading: it has a figure and nothing speaks against it."""
        microhertz = round(self.hz * 1e6) if self.hz else 0
        return bool(record.trusted(record.flag_bits(self.flags), microhertz))


@dataclass(frozen=True)
class LeftOut:
    """A take that does not enter the reading, and why."""

    number: int
    why: str
    survey: int | None = None  # as in Take


@dataclass(frozen=True)
class Reading:
    """What is known about one reed; `cents` is from its target, None where the takes give no figure."""

    ordinal: int
    cents: float | None
    u95_cents: float | None  # 95 % uncertainty: random part, clock and drift together
    clock_u95_cents: float | None  # the clock's share, the same for every reed of the survey
    used: tuple[int, ...]  # numbers of the survey's own takes that agree
    left_out: tuple[LeftOut, ...]
    standing: int  # takes that were not withdrawn
    flags: tuple[str, ...]  # what spoke against takes that were not withdrawn, the commonest first
    disagreeing: int  # trusted takes that do not agree with those used
    state: str  # "done", "again" or "give up", as the meter's survey has it
    drift_cents: float = 0.0  # how far the instrument was then from the survey's mean, by its control reed
    earlier: tuple[tuple[int, int], ...] = ()  # (survey, number) of takes that agree, where it goes on with another

    @property
    def agreeing(self) -> int:
        """How many takes it stands on."""
        return len(self.used) + len(self.earlier)

    @cached_property
    def stands_on(self) -> list[tuple[int | None, str]]:
        """Takes for people, as "takes 1, 2", each lot after the number of its survey where that is an earlier one."""
        takes = [*self.earlier, *((None, number) for number in self.used)]
        found: list[tuple[int | None, str]] = []
        for survey, group in groupby(takes, key=lambda one: one[0]):
            numbers = [str(number) for _, number in group]
            found.append((survey, f"take{'s' if len(numbers) > 1 else ''} {', '.join(numbers)}"))
        return found

    @property
    def takes_words(self) -> str:
        """All of them: "takes 1, 2", "take 2 of survey 3 and take 1", "no takes"."""
        words = (takes + (f" of survey {survey}" if survey else "") for survey, takes in self.stands_on)
        return " and ".join(words) or "no takes"


def readings(instrument: Instrument, takes: Iterable[Take], usual: Repeatability = USUAL) -> dict[int, Reading]:
    """The reading of every reed of `instrument`, by ordinal; `Gathered` says more."""
    return Gathered(instrument, takes).read(usual)[0]


def control(instrument: Instrument, takes: Iterable[Take], usual: Repeatability = USUAL) -> Control | None:
    """What the control reed says about a survey; None where there was none or it did not sound twice."""
    return Gathered(instrument, takes).control(usual)


class Gathered:
    """The takes of one survey in one state, sorted by reed: all that does not hang on how surveys repeat themselves.

    `takes`: in any order. BadInput where one is of a reed that the instrument does not have. ValueError where states
    are mixed: a reed reads differently in each, so that their takes say nothing together.
    """

    def __init__(self, instrument: Instrument, takes: Iterable[Take]) -> None:
        self.takes = list(takes)
        self.targets = instrument.targets
        if len({take.state for take in self.takes}) > 1:
            raise ValueError("takes of different states have no reading in common")
        by_reed: dict[int, list[Take]] = {reed.ordinal: [] for reed in instrument.reeds}
        for take in self.takes:
            if take.ordinal not in by_reed:
                raise BadInput(
                    f"the survey holds a take of reed {take.ordinal}, but {instrument.layout.id} has the reeds "
                    f"0 to {len(by_reed) - 1}: it belongs to another instrument"
                )
            if not take.role:
                by_reed[take.ordinal].append(take)
        self._reeds = {
            ordinal: _OfReed(self.targets[ordinal], sorted(group, key=lambda take: take.sequence))
            for ordinal, group in by_reed.items()
        }

    def read(self, usual: Repeatability = USUAL) -> tuple[dict[int, Reading], Repeatability]:
        """The reading of every reed, by ordinal, and how well the survey repeats itself.

        `usual`: how well surveys of this shop repeat themselves, which is `.as_usual` of what an earlier one gave.
        """
        found = self._repeatability(usual)
        drift = self._drift(found)
        return {ordinal: reed.reading(ordinal, found, drift) for ordinal, reed in self._reeds.items()}, found

    def pitches_alone(self) -> dict[int, float]:
        """Hertz of every reed whose takes agree, by ordinal, without any uncertainty."""
        return {
            ordinal: raised(self.targets[ordinal], reed.mean(USUAL)[0])
            for ordinal, reed in self._reeds.items()
            if reed.agreeing
        }

    def control(self, usual: Repeatability) -> Control | None:
        """What the control reed says; None where there was none or it did not sound twice."""
        return self._drift(self._repeatability(usual))

    def _repeatability(self, usual: Repeatability) -> Repeatability:
        reeds = self._reeds.values()
        return pooled([(reed.trusted[0], reed.trusted[1]) for reed in reeds if len(reed.trusted) > 1], usual)

    def _drift(self, found: Repeatability) -> Control | None:
        again = sorted((take for take in self.takes if take.role), key=lambda take: (take.role, take.sequence))
        if not again:
            return None
        ordinal = again[0].ordinal
        turns = [self._reeds[ordinal]]
        for _, group in groupby(again, key=lambda take: take.role):
            turns.append(_OfReed(self.targets[ordinal], list(group)))
        sounded = [turn.sounded(found) for turn in turns]
        times = [reed.up_s for reed in self._reeds.values() if reed.up_s is not None]
        known = [one for one in sounded if one]
        return Control(ordinal, known, times) if len(known) > 1 else None


class _OfReed:
    """The takes of one reed in the order they were sounded, and which of them agree."""

    def __init__(self, target_hz: float, takes: Sequence[Take]) -> None:
        self._withdrawn = [take for take in takes if take.withdrawn]
        self._standing = [take for take in takes if not take.withdrawn]
        self._points: list[tuple[float, float] | None] = [
            (cents_between(take.hz, target_hz), take.se_cents) if take.hz and take.trusted else None
            for take in self._standing
        ]
        scatter = self._standing[-1].scatter_cents if self._standing else agree.USUAL_CENTS
        self._places: list[int] = agree.agreeing(self._points, scatter)
        self._state = str(agree.verdict(self._points, scatter))
        used = [self._standing[place] for place in self._places]
        self._used = tuple(take.number for take in used if take.survey is None)
        self._earlier = tuple((take.survey, take.number) for take in used if take.survey is not None)
        self._clock_u95 = NORMAL * max((take.clock_u_cents for take in used), default=0.0)
        self.trusted = [point for point in self._points if point is not None]
        self.agreeing = [point for place in self._places if (point := self._points[place]) is not None]

    @property
    def up_s(self) -> float | None:
        """When it was sounded: the mean of the takes that agree; None where that is not known."""
        times = [up_s for place in self._places if (up_s := self._standing[place].up_s) is not None]
        return sum(times) / len(times) if times else None

    def sounded(self, repeatability: Repeatability) -> Sounded | None:
        """The same as one sounding of a control reed."""
        if self.up_s is None:
            return None
        cents, variance = self.mean(repeatability)
        return Sounded(self.up_s, cents, math.sqrt(variance))

    def reading(self, ordinal: int, repeatability: Repeatability, drift: Control | None) -> Reading:
        cents, u95, clock = self._combined(repeatability)
        moved = drift.at(self.up_s) if drift and self.up_s is not None else None
        if moved and u95 is not None:
            u95 += moved.adds_cents
        afresh = "withdrawn: the reed was sounded afresh"
        left_out = [LeftOut(take.number, afresh, take.survey) for take in self._withdrawn]
        against: list[str] = []
        disagreeing = 0
        for place, (take, point) in enumerate(zip(self._standing, self._points, strict=True)):
            if place in self._places:
                continue
            if point is None:
                against.extend(flag for flag in take.flags if flag != "wavering")
                left_out.append(LeftOut(take.number, _spoken(take), take.survey))
            elif cents is None:
                left_out.append(LeftOut(take.number, "no other take agrees with it", take.survey))
            else:
                disagreeing += 1
                why = f"{abs(point[0] - cents):.1f} cents from the takes that agree"
                left_out.append(LeftOut(take.number, why, take.survey))
        return Reading(
            ordinal=ordinal,
            cents=cents,
            u95_cents=u95,
            clock_u95_cents=clock,
            used=self._used,
            earlier=self._earlier,
            left_out=tuple(left_out),
            standing=len(self._standing),
            flags=tuple(sorted(set(against), key=lambda flag: (-against.count(flag), flag))),
            disagreeing=disagreeing,
            state=self._state,
            drift_cents=moved.cents if moved else 0.0,
        )

    def _combined(self, repeatability: Repeatability) -> tuple[float | None, float | None, float | None]:
        """(cents, u95, the clock's share of it) of the agreeing takes."""
        if not self.agreeing:
            return None, None, None
        cents, _ = self.mean(repeatability)
        random = repeatability.u95(cents, self.trusted)
        return cents, math.hypot(random, self._clock_u95), self._clock_u95

    def mean(self, repeatability: Repeatability) -> tuple[float, float]:
        """Mean of the agreeing takes, of which there must be some, and its variance."""
        weights = [repeatability.weight(se) for _, se in self.agreeing]
        total = sum(weights)
        return sum(weight * point[0] for weight, point in zip(weights, self.agreeing, strict=True)) / total, 1 / total


def _spoken(take: Take) -> str:
    """Why a take is not trusted, in words."""
    reasons = [FLAG_WORDS[flag] for flag in take.flags if flag != "wavering"]
    return "; ".join(reasons) or "no figure"
