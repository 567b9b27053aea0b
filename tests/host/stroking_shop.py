"""Shops whose hand is known: how far each of their strokes moves a reed, by laws that the learner does not assume."""

from dataclasses import dataclass, field

import numpy as np
from reedbench.hand.stroke import Counted, Place

OCTAVES = range(4, 8)
SEATS = ("upper outer", "upper inner", "lower outer", "lower inner")
ROOT_TO_TIP = 3.0  # of a plain tongue: docs/metal.md


@dataclass
class StrokingShop:
    """A shop; how much its registers, seats, instruments, passes and reeds differ is drawn with it."""

    rng: np.random.Generator
    hand: float = field(init=False)

    def __post_init__(self) -> None:
        rng = self.rng
        self.hand = float(np.exp(rng.normal(np.log(0.8), 0.8)))
        self.root = ROOT_TO_TIP * float(np.exp(rng.uniform(-0.6, 0.6)))
        steps = rng.uniform(-0.3, 0.3, len(OCTAVES))
        self.octaves = dict(zip(OCTAVES, np.exp(np.cumsum(steps) - steps.sum() / 2), strict=True))
        self.seats = dict(zip(SEATS, np.exp(rng.uniform(-0.2, 0.2, len(SEATS))), strict=True))
        self.instruments_differ = rng.uniform(0.0, 0.3)
        self.passes_differ = rng.uniform(0.0, 0.2)
        self.reeds_differ = rng.uniform(0.1, 0.4)
        self.strokes_differ = rng.uniform(0.1, 0.4)
        self._drawn: dict[object, float] = {}

    def _factor(self, what: object, differ: float) -> float:
        """The factor of one instrument, pass or reed: the same whenever it is asked for."""
        if what not in self._drawn:
            self._drawn[what] = float(np.exp(self.rng.normal(0, differ)))
        return self._drawn[what]

    def class_cents(self, place: Place) -> float:
        """Cents of a stroke on the middle reed of a class."""
        way = 1.0 if place.action == "raise" else self.root
        return float(self.hand * way * self.octaves[place.octave] * self.seats[place.seat])

    def cents(self, place: Place) -> float:
        """Cents of a stroke on this very reed in this pass."""
        reed = (place.instrument, place.ordinal, place.action)
        return (
            self.class_cents(place)
            * self._factor(place.instrument, self.instruments_differ)
            * self._factor(("pass", place.work_pass), self.passes_differ)
            * self._factor(reed, self.reeds_differ)
        )

    def reeds(self, instrument: str, work_pass: int, count: int) -> list[Place]:
        """As many different reeds of an instrument, each to be worked one way."""
        found = []
        for ordinal in self.rng.choice(64, count, replace=False):
            action = "raise" if self.rng.random() < 0.75 else "lower"
            seat, octave = SEATS[ordinal % 4], OCTAVES[ordinal // 16]
            found.append(Place(action, octave, seat, instrument, int(ordinal), work_pass))
        return found

    def worked(self, places: list[Place], u_cents: float = 0.36) -> list[Counted]:
        """Each reed moved by 3 to 15 cents or so, and read before and after with that uncertainty."""
        counted = []
        for place in places:
            cents = self.cents(place)
            strokes = max(1, round(self.rng.uniform(3, 15) / cents))
            metal = 1 + self.rng.normal(0, self.strokes_differ, strokes)
            moved = cents * metal.sum()
            moved -= self.rng.uniform(0, 0.05) * moved + self.rng.normal(0, 0.2)
            counted.append(Counted(place, strokes, float(moved + self.rng.normal(0, u_cents)), u_cents))
        return counted
