"""How warm it was: a reed falls as it warms, and surveys made in rooms of different warmth do not compare.

The meter keeps the temperature of its own board with every take, good to a few degrees, but alike from day to day: how
much warmer one survey was than another is known far better than how warm either was. Nothing is corrected unasked,
since a reed that breath has warmed is at neither.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from statistics import median

from reedbench.reading import Reading, Take
from reedbench.words import signed

APART_K = 3.0  # surveys farther apart are warned about: about one cent in brass
# Half of (modulus's plus expansion's coefficient), brass C26000: -0.30 to -0.33 cent per kelvin, computed from spring
# makers' and mill data. The modulus's share is partly from memory, so this is a default that can be changed.
BRASS_CENTS_PER_K = -0.31
DOUBT = 0.1  # share of a correction that stays uncertain, the spread of that range and some more


@dataclass(frozen=True)
class Correction:
    """Readings are wanted as they would be at this temperature, in degrees Celsius by the meter."""

    to_celsius: float
    cents_per_k: float = BRASS_CENTS_PER_K

    def readings(self, found: Mapping[int, Reading], celsius: float) -> dict[int, Reading]:
        """`found`, made at `celsius`, as they would be; what is corrected adds to their uncertainty."""
        cents = self.cents_per_k * (self.to_celsius - celsius)
        return {ordinal: moved(reading, cents, DOUBT * abs(cents)) for ordinal, reading in found.items()}


def moved(reading: Reading, cents: float, u95_cents: float) -> Reading:
    """`reading` with so many cents added, which are known within `u95_cents`; without a figure, as it is."""
    if reading.cents is None or reading.u95_cents is None:
        return reading
    return replace(reading, cents=reading.cents + cents, u95_cents=(reading.u95_cents**2 + u95_cents**2) ** 0.5)


def temperature(takes: Iterable[Take]) -> float | None:
    """Of a survey, degrees Celsius: the middle of its takes; None where the meter has none, or nothing was sounded."""
    known = [take.board_celsius for take in takes if take.board_celsius is not None]
    return median(known) if known else None


def warmer(number: int, than: int, kelvin: float) -> str:
    """A warning that survey `number` was so much warmer than survey `than`; "" where it does not matter."""
    if abs(kelvin) <= APART_K:
        return ""
    warmth, cents = "warmer" if kelvin > 0 else "colder", BRASS_CENTS_PER_K * kelvin
    return (
        f"Survey {number} was made {abs(kelvin):.1f} K {warmth} than survey {than}: brass reeds read about "
        f"{signed(cents)} cents by that alone. Let instrument and room come to one temperature, or see --celsius."
    )
