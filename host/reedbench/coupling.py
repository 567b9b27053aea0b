"""Pairs of reeds: each with its partner muted, then both together, and how they pull each other.

Two reeds within some ten cents on one block may draw each other's pitch (common practice, no source). A survey of
single reeds says what each reads alone, and so how they should beat (together.py); one with `both reeds` in its state,
what the two read when they sound together. The difference is the pulling; the beat that the player hears is the one of
both together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from statistics import median

from reedbench.instrument import InstrumentReed
from reedbench.reading import Reading
from reedbench.together import OCTAVE, Together
from reedbench.tuning import cents_between, raised
from reedbench.two import Resolved

NEAR_CENTS = 60.0  # a reed heard in a pair is the one whose target lies so near

Heard = dict[tuple[int, bool], list[Resolved]]  # takes of both by (ordinal of the base, whether they are an octave)


@dataclass(frozen=True)
class Sounded:
    """One reed of a pair: cents from its target alone and together, None where nobody knows."""

    reed: InstrumentReed
    alone_cents: float | None
    together_cents: float | None
    u95_cents: float | None  # of their difference

    @property
    def pulled_cents(self) -> float | None:
        """How far its partner draws it."""
        if self.alone_cents is None or self.together_cents is None:
            return None
        return self.together_cents - self.alone_cents

    @property
    def is_pulled(self) -> bool:
        """Whether that is more than its uncertainty."""
        return self.pulled_cents is not None and self.u95_cents is not None and abs(self.pulled_cents) > self.u95_cents


@dataclass(frozen=True)
class Pair:
    """A base reed and its partner. `apart`: how they should beat, and do by what each reads alone. `heard_hz`: how they
    beat together, above zero where the partner is high; `u95_hz`: its uncertainty; None where nobody knows."""

    apart: Together
    base: Sounded
    partner: Sounded
    heard_hz: float | None
    u95_hz: float | None

    @property
    def beat_hz(self) -> float | None:
        """What the player hears: the beat of both together where it is known, else of what each reads alone."""
        return self.apart.now_hz if self.heard_hz is None else self.heard_hz

    @property
    def move(self) -> InstrumentReed | None:
        """The reed to be moved first: the base until it lies within its pair's goal, then the partner; None where
        the pair beats as it should or nobody knows."""
        beat, base_hz = self.beat_hz, self._base_hz
        if beat is None or base_hz is None:
            return None
        upper, _ = self.apart.interval.ratio
        if upper * abs(base_hz - self.base.reed.target_hz) > self.apart.goal_hz:
            return self.base.reed
        return self.partner.reed if abs(beat - self.apart.wanted_hz) > self.apart.goal_hz else None

    @property
    def partner_to_hz(self) -> float | None:
        """What the partner should read alone so that the two beat as wanted, as far as they pull each other."""
        if self._base_hz is None:
            return None
        pulled = 0.0
        if self.heard_hz is not None and self.apart.now_hz is not None:
            pulled = self.heard_hz - self.apart.now_hz
        upper, lower = self.apart.interval.ratio
        return (self.apart.wanted_hz - pulled + upper * self._base_hz) / lower

    @property
    def _base_hz(self) -> float | None:
        alone = self.base.alone_cents
        return None if alone is None else raised(self.base.reed.target_hz, alone)


def pairs(sounding: Sequence[Together], readings: Mapping[int, Reading], heard: Heard) -> list[Pair]:
    """The pairs among what sounds together, by pitch; `readings` by ordinal."""
    found = [
        _pair(one, readings, heard.get((one.lower.ordinal, one.interval is OCTAVE), ())) for one in sounding if one.pair
    ]
    return sorted(found, key=lambda one: (one.base.reed.target_hz, one.partner.reed.ordinal))


def _pair(apart: Together, readings: Mapping[int, Reading], takes: Sequence[Resolved]) -> Pair:
    reeds, interval = (apart.lower, apart.upper), apart.interval
    both = [(take, hz) for take in takes if (hz := _matched(take, reeds))]
    base, partner = (
        _sounded(reed, readings.get(reed.ordinal), [one[n] for _, one in both]) for n, reed in enumerate(reeds)
    )
    beats = [interval.wide_hz(low, high) for _, ((low, _), (high, _)) in both]
    each = [max(beat.u95_hz for beat in take.beats) for take, _ in both]
    return Pair(apart, base, partner, median(beats) if beats else None, _spread(beats, each))


def _matched(take: Resolved, reeds: tuple[InstrumentReed, InstrumentReed]) -> list[tuple[float, float]] | None:
    """(hertz, u95 in cents) of each of two reeds in a take of both, told by which lies lower; None where it has not
    both."""
    near = sorted(
        (one.hz, one.u95_cents)
        for one in take.reeds
        if min(abs(cents_between(one.hz, reed.target_hz)) for reed in reeds) < NEAR_CENTS
    )
    if len(near) < 2:
        return None
    if len(near) > 2:  # three sound: those nearest to the two targets
        near = [min(near, key=lambda one: abs(one[0] - reed.target_hz)) for reed in reeds]
        return near if near[0] != near[1] else None
    return near if reeds[0].target_hz <= reeds[1].target_hz else near[::-1]


def _sounded(reed: InstrumentReed, reading: Reading | None, both: Sequence[tuple[float, float]]) -> Sounded:
    together = [cents_between(hz, reed.target_hz) for hz, _ in both]
    alone = reading.cents if reading else None
    u95 = None
    if reading and reading.u95_cents is not None and both:
        u95 = (reading.u95_cents**2 + (_spread(together, [u for _, u in both]) or 0.0) ** 2) ** 0.5
    return Sounded(reed, alone, median(together) if together else None, u95)


def _spread(values: Sequence[float], each: Sequence[float]) -> float | None:
    """95 % uncertainty of the middle of some takes: what each claims, or half of how far they lie apart."""
    if not values:
        return None
    return max([(max(values) - min(values)) / 2, *each])
