"""How far one stroke of this shop's hand moves a reed, and how sure that is.

Nobody's stroke is another's: file, pressure and length decide. So it is learned from reeds whose strokes were counted,
by how far they moved. The logarithm of a stroke's cents is the sum of what the shop has in common, what raising and
lowering have (between which the beam of metal.py says how far they should lie apart), what a register (octave), a seat
(plate and face), an instrument and a pass have of their own, and what is the reed's. Each part is drawn towards nought
as strongly as the counts allow: the first reeds teach the whole hand, many of one class teach that class. (A linear
model with random effects, best linear unbiased prediction, as in states.py; made linear about its own answer.)
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import product

import numpy as np
from numpy.typing import NDArray

from reedbench.instrument import InstrumentReed
from reedbench.metal import zone_for
from reedbench.repeatability import NORMAL

# Common practice, no source. Standard deviations of logarithms: 0.1 is about 10 %.
STROKE_CENTS = 0.8  # of a light stroke at the tip, before anything is known ...
HANDS = 1.0  # ... and how far shops differ from it
BEAM = 0.4  # how far a shop's raising and lowering lie apart from what the beam says
PARTS = {"class": (0.08, 0.25), "instrument": (0.05, 0.25), "pass": (0.05, 0.2), "reed": (0.12, 0.35)}
STROKES_DIFFER = 0.3  # from one stroke to the next
SETTLES_CENTS = 0.3  # what a worked reed moves by itself until it is read again
FAR = 2.5  # standard deviations: a count farther off than this from what the others say is doubted
KNOWN = 2.0  # strokes are told where they are known within this factor, 95 %
NEWEST = 150  # counts that are learned from, the last ones

USUAL = {"class": 0.15, "instrument": 0.15, "pass": 0.1, "reed": 0.25}
_ROUNDS = 5
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Place:
    """What decides how far a stroke goes: the reed, and the way it is worked. `octave`: MIDI note number / 12."""

    action: str  # "raise" or "lower"
    octave: int
    seat: str  # plate and face
    instrument: str = ""  # key; "" for any instrument of the shop
    ordinal: int = -1  # -1 for any reed of the class
    work_pass: int = 0  # number of the survey that the pass followed; 0 for one to come


def place_of(reed: InstrumentReed, action: str, instrument: str, work_pass: int = 0) -> Place:
    """The place of a reed of the instrument of that key."""
    seat = f"{reed.plate} {reed.face}".strip()
    return Place(action, reed.midi // 12, seat, instrument, reed.ordinal, work_pass)


@dataclass(frozen=True)
class Counted:
    """A reed worked one way in one pass, its strokes counted."""

    place: Place
    strokes: int
    moved_cents: float  # the way it was worked, apart from what reeds left alone moved; below zero the wrong way
    u_cents: float  # standard uncertainty of that, from its readings


@dataclass(frozen=True)
class Stroke:
    """What one stroke moves a reed: `cents`, the middle, and the truth within a `factor` either way, 95 %."""

    cents: float
    factor: float
    counts: int = 0  # reeds of its class that were counted

    def for_move(self, cents: float) -> "Strokes":
        """The strokes for a move of so many cents."""
        count = abs(cents) / self.cents
        if not count:
            return Strokes(0, 0, 0)
        # Strokes differ among themselves too: the fewer, the more their sum does.
        spread = math.exp(math.hypot(math.log(self.factor), NORMAL * STROKES_DIFFER / math.sqrt(max(1.0, count))))
        return Strokes(round(count), round(count / spread), math.ceil(count * spread))


@dataclass(frozen=True)
class Strokes:
    """About so many light strokes; between `fewest` and `most` in 95 of 100 cases."""

    about: int
    fewest: int
    most: int

    @property
    def words(self) -> str:
        """For people: "about 6 light strokes (4 to 9)"."""
        return f"about {self.about} light stroke{'' if self.about == 1 else 's'} ({self.fewest} to {self.most})"


@cache
def _beam(action: str) -> float:
    """Logarithm of the cents that a share of the thickness moves there, from the same at the tip."""
    tip, here = (abs(zone_for(sign).gain(0.001)) for sign in (1.0, 1.0 if action == "raise" else -1.0))
    return math.log(here / tip)


class Hand:
    """The shop's hand, learned from `counted`, the oldest first; from none it is what shops are in general."""

    def __init__(self, counted: Sequence[Counted] = ()) -> None:
        self._counted = list(counted)[-NEWEST:]
        self._places = [one.place for one in self._counted]
        self._learn()

    def _learn(self) -> None:
        """What the counts say under each combination of parts; they are made linear about what the usual one says."""
        strokes = np.array([one.strokes for one in self._counted], dtype=float)
        moved = np.array([one.moved_cents for one in self._counted], dtype=float)
        u = np.hypot(np.array([one.u_cents for one in self._counted], dtype=float), SETTLES_CENTS)
        prior = _prior(self._places)
        self._white: list[tuple[float, Floats, Floats]] = []  # (weight, inverse of the triangle, whitened counts)
        at = np.log(np.maximum(moved, 2 * u) / strokes)
        doubt = np.ones(len(strokes))
        usual = _kernel(USUAL, self._places, self._places)
        for _ in range(_ROUNDS if self._counted else 0):
            foreseen = strokes * np.exp(at)
            seen = at + (moved - foreseen) / foreseen - prior
            noise = np.diag(doubt * ((u / foreseen) ** 2 + STROKES_DIFFER**2 / strokes))
            inverse = np.linalg.inv(usual + noise)
            explained = inverse @ seen
            at = prior + usual @ explained
            # How far each count lies from what all the others say of it, in standard deviations.
            apart = np.abs(explained) / np.sqrt(np.diag(inverse))
            doubt *= np.maximum(1.0, apart / FAR) ** 2
        if self._counted:
            self._white = _weighed([_kernel(parts, self._places, self._places) for parts in _grid()], noise, seen)

    def strokes(self, places: Sequence[Place]) -> list[Stroke]:
        """What a stroke moves at each of `places`."""
        prior = _prior(places)
        mean, square = np.zeros(len(places)), np.zeros(len(places))
        for number, parts in enumerate(_grid()):
            own = _own(parts, places)
            if not self._white:
                square += own / len(_grid())
                continue
            weight, under, white = self._white[number]
            reach = under @ _kernel(parts, self._places, places)
            here = white @ reach
            mean += weight * here
            square += weight * (own - (reach**2).sum(axis=0) + here**2)
        deviation = np.sqrt(square - mean**2)
        return [
            Stroke(float(np.exp(at)), float(np.exp(NORMAL * one)), self._alike(place))
            for at, one, place in zip(prior + mean, deviation, places, strict=True)
        ]

    def known(self, places: Sequence[Place]) -> list[Stroke | None]:
        """What a stroke moves at each of `places`; None where that is not known well enough to tell."""
        if not self._counted or not places:
            return [None] * len(places)
        return [found if found.factor <= KNOWN else None for found in self.strokes(places)]

    def classes(self) -> list[Place]:
        """The classes that were counted, in order of register."""
        seen = {Place(one.action, one.octave, one.seat) for one in self._places}
        return sorted(seen, key=lambda one: (one.action != "raise", one.seat, one.octave))

    def _alike(self, place: Place) -> int:
        what = (place.action, place.octave, place.seat)
        return sum((one.action, one.octave, one.seat) == what for one in self._places)


@cache
def _grid() -> tuple[dict[str, float], ...]:
    """Every combination of how much the parts may differ, all equally likely beforehand."""
    return tuple(dict(zip(PARTS, values, strict=True)) for values in product(*PARTS.values()))


def _prior(places: Sequence[Place]) -> Floats:
    return np.array([math.log(STROKE_CENTS) + _beam(place.action) for place in places])


def _kernel(parts: dict[str, float], rows: Sequence[Place], columns: Sequence[Place]) -> Floats:
    """Covariance of the logarithms at two lots of places."""
    known = HANDS**2 + BEAM**2 * _same(rows, columns, "action")
    registers = _same(rows, columns, "octave") + _same(rows, columns, "seat")
    instrument = _same(rows, columns, "instrument")
    reed = instrument * _same(rows, columns, "ordinal") * _same(rows, columns, "action")
    return np.asarray(
        known
        + parts["class"] ** 2 * registers
        + parts["instrument"] ** 2 * instrument
        + parts["pass"] ** 2 * _same(rows, columns, "work_pass")
        + parts["reed"] ** 2 * reed
    )


def _own(parts: dict[str, float], places: Sequence[Place]) -> Floats:
    """Variance of the logarithm at each place: of a class without what is any one instrument's, pass's and reed's."""
    of_class = HANDS**2 + BEAM**2 + 2 * parts["class"] ** 2
    of_reed = of_class + parts["instrument"] ** 2 + parts["pass"] ** 2 + parts["reed"] ** 2
    return np.array([of_class if place.ordinal < 0 else of_reed for place in places])


def _same(rows: Sequence[Place], columns: Sequence[Place], what: str) -> Floats:
    """1 where two places share something, and it is something."""
    nothing = {"instrument": "", "ordinal": -1, "work_pass": 0}.get(what)
    left = np.array([getattr(place, what) for place in rows])[:, None]
    right = np.array([getattr(place, what) for place in columns])[None, :]
    return np.asarray((left == right) & (left != nothing if nothing is not None else True), dtype=float)


def _weighed(kernels: Sequence[Floats], noise: Floats, seen: Floats) -> list[tuple[float, Floats, Floats]]:
    """(weight, inverse of the triangle of the covariance, whitened counts) for each combination of the grid."""
    found, evidence = [], []
    for kernel in kernels:
        lower = np.linalg.cholesky(kernel + noise)
        under = np.linalg.inv(lower)
        white = under @ seen
        evidence.append(-white @ white / 2 - np.log(np.diag(lower)).sum())
        found.append((under, white))
    weights = np.exp(np.array(evidence) - max(evidence))
    weights /= weights.sum()
    return [(float(weight), under, white) for weight, (under, white) in zip(weights, found, strict=True)]
