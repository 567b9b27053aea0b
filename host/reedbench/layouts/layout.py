"""What a layout is, once its file has been read: reeds, and the plates they sit on."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from reedbench.tuning import PairLaw

COMB = ("upper", "lower")  # names of the two plates on a harmonica's comb

# A reed sits on the side its air comes from (Euphonics, an academic web textbook, 11.6); the inner face is the one
# towards the chamber. A bellows pushes from outside the chambers. Where air flows one way only there is one face.
FACES = {"blow": "inner", "draw": "outer", "push": "outer", "pull": "inner", "": ""}


@dataclass(frozen=True)
class Reed:
    """One tongue of a layout."""

    ordinal: int  # its number in the layout, from 0
    place: str  # what people call where it is sounded: "3", "F#4"
    hole: int  # that place counted from the low end, from 1
    breath: str  # "blow", "draw", "push", "pull", or "" where air flows one way only
    slide: str  # "out", "in", or "" on an instrument without a slide
    midi: int  # pitch on an instrument in C
    member: str = ""  # the bank it belongs to, or the member of a pair it is: "M", "high"; "" where there is one
    base: int | None = None  # ordinal of the base reed of its pair, for one that is tuned against another
    side: int = 0  # 1 tuned above that reed, -1 below
    plate: str = ""  # what it sits on; "" where the slide decides


@dataclass(frozen=True)
class Layout:
    """A kind of instrument."""

    id: str
    title: str
    source: str  # where the table was published, in words
    unconfirmed: bool  # written down from memory: to be checked on the instrument
    holes: int
    reeds: tuple[Reed, ...]
    last_hole: tuple[tuple[str, int], ...]  # choices for the last reed, the usual one first: ("D", 98); or none
    plates: tuple[str, ...] = COMB  # in the order of a survey
    plate_word: str = "plate"  # what the trade calls such a thing here: plate, block, pan, board
    wind: str = "mouth"  # what moves the air, "mouth" or "bellows"
    transposing: bool = True  # whether there are instruments of this kind in other keys
    per_row: int = 0  # places in a row of the sheet; 0 for an octave, from C to B, in each
    pairs: PairLaw | None = None  # how its pairs are tuned where no order says otherwise
    document: Mapping[str, Any] = field(default_factory=dict, compare=False, repr=False)  # its file

    @property
    def family(self) -> str:
        """What kind of instrument it is, without what tells it from its like: "Slide chromatic"."""
        return self.title.partition(", ")[0]

    @property
    def variety(self) -> str:
        """What tells it from its like: "12 holes, solo tuning"."""
        return self.title.partition(", ")[2]

    @property
    def has_slide(self) -> bool:
        return self.reeds[0].slide != ""

    @property
    def has_comb(self) -> bool:
        """Whether its plates lie on the two sides of a comb, as on a harmonica."""
        return set(self.plates) <= set(COMB)

    @property
    def has_valves(self) -> bool:
        """Whether slots have valves, as a rule: where a slide or a bellows that goes both ways would leave the other
        reed of a chamber open (common practice, no source)."""
        return self.has_slide or any(reed.breath in ("push", "pull") for reed in self.reeds)

    @property
    def has_pairs(self) -> bool:
        return any(reed.base is not None for reed in self.reeds)

    def plate_name(self, plate: str) -> str:
        """A plate as the shop calls it: "upper plate", "M+ block"."""
        return f"{plate} {self.plate_word}"
