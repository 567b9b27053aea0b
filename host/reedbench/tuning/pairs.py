"""Two reeds that sound together: how fast they beat, and how far apart they are to be tuned.

Three laws, each by its value at A4 (the reference A): the same beat for every pair, the same cents for every pair
(the beat then doubles from octave to octave), or in between: the beat grows by 2^rise an octave. With rise 0 the third
is the first, with rise 1 the second. That beats are made faster towards the treble, but not twice as fast an octave,
is common practice without a source.
"""

from dataclasses import dataclass
from typing import Any

from reedbench.documents import Fields
from reedbench.tuning.notes import raised

LAWS = ("constant beat", "constant cents", "between")
BEATS_HZ = (0.0, 20.0)
CENTS = (0.0, 50.0)
RISE = (0.0, 1.0)


def beat_hz(low_hz: float, high_hz: float, ratio: tuple[int, int] = (1, 1)) -> float:
    """Beats a second of two tones that would be in `ratio` (upper, lower) if they were in tune."""
    upper, lower = ratio
    return abs(upper * low_hz - lower * high_hz)


@dataclass(frozen=True)
class PairLaw:
    """How far apart pairs are tuned. `value`: beats a second at A4, or cents where `law` is "constant cents"."""

    law: str  # one of LAWS
    value: float
    rise: float = 0.0  # of "between"

    @classmethod
    def read(cls, fields: Fields) -> "PairLaw":
        """The law in an object of a file; BadInput for anything else."""
        law = fields.choice("law", LAWS)
        value = fields.number("cents", *CENTS) if law == "constant cents" else fields.number("beats_hz", *BEATS_HZ)
        rise = fields.number("rise", *RISE) if law == "between" else 0.0
        fields.done()
        return cls(law, value, rise)

    def to_dict(self) -> dict[str, Any]:
        """As it stands in a file."""
        named = {"law": self.law, "cents" if self.law == "constant cents" else "beats_hz": self.value}
        return named | ({"rise": self.rise} if self.law == "between" else {})

    def partner_hz(self, base_hz: float, side: int, reference_hz: float) -> float:
        """Pitch of the reed tuned above (`side` 1) or below (-1) the base reed's."""
        if self.law == "constant cents":
            return raised(base_hz, side * self.value)
        return float(base_hz + side * self.value * (base_hz / reference_hz) ** self.rise)

    @property
    def words(self) -> str:
        """For people: "2 beats/s at A4, 1.41 times as many an octave higher"."""
        if self.law == "constant cents":
            return f"pairs {self.value:g} cents apart"
        many = f"pairs beating {self.value:g} times a second"
        if self.law == "constant beat":
            return many
        return f"{many} at A4, {2**self.rise:.2f} times as fast an octave higher"
