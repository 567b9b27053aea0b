"""When a reed wants looking at before any metal comes off, and at what: the shop's list of usual causes.

All of it common practice without a source; a plan says "look at", never "is".
"""

from collections.abc import Mapping
from statistics import median

from reedbench.reading import FLAG_WORDS, Reading
from reedbench.words import signed

FAR_CENTS = 50.0  # a reed this far out has usually failed or lost metal, and is not merely out of tune
ON_PITCH_CENTS = 25.0  # when the rest is this near its target, the target itself is no new one
REST_LEAST = 4  # readings that make up "the rest of the instrument"

_BY_FLAG = {
    "unsteady": "look at gap, valve and rivet, and for lint in the slot",
    "pulled": "sound it with an even breath; if it still bends, look at gap and valve",
    "short": "does it start late or stop? Look at gap and valve",
    "disagree": "look for a buzz: burr, reed touching its slot, loose valve",
    "clipped": "hold the meter farther away and sound it again",
    "gap": "the meter missed samples; sound it again",
    "weak": "look at gap, dirt and leaks; or hold the meter nearer",
    "two-reeds": "look for a leak, as at a valve, or mute the other reed",
}


def rest_median(ordinal: int, readings: Mapping[int, Reading]) -> float | None:
    """Median of the other reeds' cents, or None where too few have a reading."""
    rest = [reading.cents for other, reading in readings.items() if other != ordinal and reading.cents is not None]
    return median(rest) if len(rest) >= REST_LEAST else None


def astray(cents: float, rest: float | None) -> bool:
    """Whether a reed has left its neighbours, or its target while they kept theirs.

    When the whole instrument is to move to another reference, its distance alone is no sign of a fault.
    """
    if rest is not None and abs(cents - rest) > FAR_CENTS:
        return True
    return cents < -FAR_CENTS and (rest is None or rest > -ON_PITCH_CENTS)


def look_first(reading: Reading, rest: float | None) -> str:
    """One sentence with the numbers: why the reed is to be inspected, and what to look at first."""
    if reading.cents is None:
        tried = reading.standing
        if not reading.flags:
            return f"No two of {tried} takes agree: look at valve, gap, loose rivet or screws."
        flag = reading.flags[0]
        why = f"{tried} takes and none that can be trusted, mostly because {FLAG_WORDS[flag]}"
        return f"{why}: {_BY_FLAG[flag]}."
    if astray(reading.cents, rest):
        lies = f"Lies {signed(reading.cents, 0)} cents from its target"
        if rest is not None:
            lies += f" while the other reeds lie at {signed(rest, 0)}"
        if reading.cents < (rest or 0.0):
            return f"{lies}: look for a crack near the rivet, a loose rivet, dirt; is it the right reed?"
        return f"{lies}: look for a broken tip or lost weight; is it the right reed?"
    heard = reading.disagreeing + len(reading.used)
    return (
        f"Scatters: {reading.disagreeing} of {heard} takes do not agree with the others: "
        "look at valve, gap, loose rivet or screws."
    )
