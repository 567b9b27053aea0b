"""From takes to readings: what all takes of one reed in a survey say together, and how sure that is.

Which takes count is decided by the rule the meter runs too (wire.agree). Those takes are combined by
weights of 1 / (own variance + the survey's between-take variance). The expanded uncertainty covers 95 %
(NIST TN 1297, after the GUM) and counts what the takes that were left out say too: they may have been the good
ones. The clock's uncertainty is common to all takes of a survey, so averaging does not reduce it.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from reedbench.errors import BadInput
from reedbench.firmware.wire import agree, record
from reedbench.firmware.wire.record import STATES
from reedbench.instrument import Instrument
from reedbench.repeatability import NORMAL, USUAL, Repeatability, pooled
from reedbench.tuning import cents_between

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


@dataclass(frozen=True)
class Reading:
    """What is known about one reed; `cents` is from its target, None where the takes give no figure."""

    ordinal: int
    cents: float | None
    u95_cents: float | None  # 95 % uncertainty: random part and clock together
    clock_u95_cents: float | None  # the clock's share, the same for every reed of the survey
    used: tuple[int, ...]  # numbers of the takes that agree
    left_out: tuple[LeftOut, ...]
    standing: int  # takes that were not withdrawn
    flags: tuple[str, ...]  # what spoke against takes that were not withdrawn, the commonest first
    disagreeing: int  # trusted takes that do not agree with those used
    state: str  # "done", "again" or "give up", as the meter's survey has it


def readings(instrument: Instrument, takes: Iterable[Take], usual: Repeatability = USUAL) -> dict[int, Reading]:
    """The reading of every reed of `instrument`, by ordinal; `read` says more."""
    return read(instrument, takes, usual)[0]


def read(
    instrument: Instrument, takes: Iterable[Take], usual: Repeatability = USUAL
) -> tuple[dict[int, Reading], Repeatability]:
    """The reading of every reed of `instrument`, by ordinal, and how well the survey repeats itself.

    `takes`: of one survey in one state, in any order. `usual`: how well surveys of this shop repeat themselves, which
    is `.as_usual` of what an earlier one gave. BadInput where a take is of a reed that the instrument does not have.
    ValueError where states are mixed: a reed reads differently in each, so that their takes say nothing together.
    """
    gathered = _gathered(instrument, takes)
    found = pooled([(reed.trusted[0], reed.trusted[1]) for reed in gathered.values() if len(reed.trusted) > 1], usual)
    return {ordinal: reed.reading(ordinal, found) for ordinal, reed in gathered.items()}, found


def _gathered(instrument: Instrument, takes: Iterable[Take]) -> "dict[int, _Gathered]":
    """The takes of every reed."""
    takes = list(takes)
    if len({take.state for take in takes}) > 1:
        raise ValueError("takes of different states have no reading in common")
    by_reed: dict[int, list[Take]] = {reed.ordinal: [] for reed in instrument.reeds}
    for take in takes:
        if take.ordinal not in by_reed:
            raise BadInput(
                f"the survey holds a take of reed {take.ordinal}, but {instrument.layout.id} has the reeds "
                f"0 to {len(by_reed) - 1}: it belongs to another instrument"
            )
        by_reed[take.ordinal].append(take)
    return {
        ordinal: _Gathered(instrument.reeds[ordinal].target_hz, sorted(group, key=lambda take: take.sequence))
        for ordinal, group in by_reed.items()
    }


class _Gathered:
    """The takes of one reed in the order they were sounded, and which of them agree."""

    def __init__(self, target_hz: float, takes: Sequence[Take]) -> None:
        self._withdrawn = [take for take in takes if take.withdrawn]
        self._standing = [take for take in takes if not take.withdrawn]
        self._points: list[tuple[float, float] | None] = [
            (cents_between(take.hz, target_hz), take.se_cents) if take.hz and take.trusted else None
            for take in self._standing
        ]
        self._places: list[int] = agree.agreeing(self._points)
        self.trusted = [point for point in self._points if point is not None]
        self.agreeing = [point for place in self._places if (point := self._points[place]) is not None]

    def reading(self, ordinal: int, repeatability: Repeatability) -> Reading:
        cents, u95, clock = self._combined(repeatability)
        left_out = [LeftOut(take.number, "withdrawn: the reed was sounded afresh") for take in self._withdrawn]
        against: list[str] = []
        disagreeing = 0
        for place, (take, point) in enumerate(zip(self._standing, self._points, strict=True)):
            if place in self._places:
                continue
            if point is None:
                against.extend(flag for flag in take.flags if flag != "wavering")
                left_out.append(LeftOut(take.number, _spoken(take)))
            elif cents is None:
                left_out.append(LeftOut(take.number, "no other take agrees with it"))
            else:
                disagreeing += 1
                left_out.append(LeftOut(take.number, f"{abs(point[0] - cents):.1f} cents from the takes that agree"))
        return Reading(
            ordinal=ordinal,
            cents=cents,
            u95_cents=u95,
            clock_u95_cents=clock,
            used=tuple(self._standing[place].number for place in self._places),
            left_out=tuple(left_out),
            standing=len(self._standing),
            flags=tuple(sorted(set(against), key=lambda flag: (-against.count(flag), flag))),
            disagreeing=disagreeing,
            state=str(agree.verdict(self._points)),
        )

    def _combined(self, repeatability: Repeatability) -> tuple[float | None, float | None, float | None]:
        """(cents, u95, the clock's share of it) of the agreeing takes."""
        if not self.agreeing:
            return None, None, None
        weights = [repeatability.weight(se) for _, se in self.agreeing]
        cents = sum(weight * point[0] for weight, point in zip(weights, self.agreeing, strict=True)) / sum(weights)
        random = repeatability.u95(cents, self.trusted)
        clock = NORMAL * max(self._standing[place].clock_u_cents for place in self._places)
        return cents, math.hypot(random, clock), clock


def _spoken(take: Take) -> str:
    """Why a take is not trusted, in words."""
    reasons = [FLAG_WORDS[flag] for flag in take.flags if flag != "wavering"]
    return "; ".join(reasons) or "no figure"
