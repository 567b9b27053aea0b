"""The order of the work, so that an instrument is opened seldom and nothing is done twice.

Common practice, no source: what is undecided first, before anything is opened; then faults, since air, gap and valve
move the pitch; large moves before small ones, largest first; reeds that share a chamber together, since they pull at
each other; the fine work plate by plate. Unisons and octaves come last, against each other, once every reed is good.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import groupby
from typing import Any

from reedbench.instrument import Instrument, InstrumentReed
from reedbench.item import Item

STAGES = ("again", "look", "replace", "rough", "fine")
_STAGE = {"inspect": "look", "replace": "replace", "sound again": "again"}


@dataclass(frozen=True)
class Stage:
    """A stretch of work that is done in one go."""

    name: str  # one of STAGES
    plate: str  # of a fine pass
    face: str  # of it: "outer" for reeds at hand, "inner" where the plate comes off, with all that is on it; or ""
    items: tuple[Item, ...]

    @property
    def unheard(self) -> list[list[Item]]:
        """Those that are only to be sounded at all, plate by plate."""
        unheard = [item for item in self.items if item.unheard]
        return [list(group) for _, group in groupby(unheard, key=lambda item: item.reed.plate)]


def chamber(reed: InstrumentReed) -> tuple[str, ...]:
    """What reeds that share an air chamber have in common; with a slide each hole has one for each plate."""
    return reed.place, reed.member, reed.plate if reed.slide else ""


def stages(instrument: Instrument, items: Iterable[Item]) -> list[Stage]:
    """The work among `items`, in its order, cut into stages."""
    work = [item for item in items if item.action != "leave"]
    plates = {plate: place for place, plate in enumerate(instrument.plates)}
    largest: dict[tuple[str, ...], float] = {}  # move of the rough pass in each chamber
    for item in work:
        if item.work_pass == "rough":
            largest[chamber(item.reed)] = max(largest.get(chamber(item.reed), 0.0), abs(item.move_cents or 0.0))
    off = {
        (item.reed.plate, chamber(item.reed)) for item in work if item.work_pass == "fine" and item.reed.face == "inner"
    }

    def stage(item: Item) -> tuple[str, str, str]:
        reed = item.reed
        if item.work_pass != "fine":
            return _STAGE.get(item.action, "rough"), "", ""
        return "fine", reed.plate, "inner" if (reed.plate, chamber(reed)) in off else reed.face

    def place(item: Item) -> tuple[Any, ...]:
        reed = item.reed
        name, _, face = stage(item)
        if name == "rough":
            return STAGES.index(name), -largest[chamber(reed)], chamber(reed), -abs(item.move_cents or 0.0)
        return (
            STAGES.index(name),
            item.unheard,
            plates[reed.plate],
            (face or reed.face) == "inner",
            reed.hole,
            reed.ordinal,
        )

    grouped = groupby(sorted(work, key=place), key=stage)
    return [Stage(*key, tuple(group)) for key, group in grouped]
