"""When a reed wants looking at before any metal comes off, why, and at what first.

A reed that has changed by itself, or does not answer as reeds do, is filed in vain: the cause comes back. The signs are
the shop's: it left its own last accepted reading, or its neighbours; it went flatter after a raise; it sinks from one
survey to the next; it scatters; it speaks weak or late; it disagrees with its unison where others agree. A new target
is none: what a reed is asked to become says nothing of what it is.

A cause says "look for", never "is".
"""

from dataclasses import dataclass, replace
from itertools import combinations
from statistics import median

from reedbench.evidence import REST_LEAST, Evidence
from reedbench.instrument import InstrumentReed
from reedbench.reading import FLAG_WORDS, Reading
from reedbench.words import signed

# Common practice, no source:
LEFT_OTHERS_CENTS = 50.0  # from the rest of the instrument: a reed this far out has failed or lost metal
ALIKE_CENTS = 25.0  # notes of one name that lie this near each other were meant to
ANSWER_CENTS = 1.0  # a reed that moved less than this the wrong way may just be warm
SINKS_CENTS = 4.0  # lost over two surveys or more without work
UNISON_CENTS = 20.0  # between two reeds of one pitch ...
UNISONS_CENTS = 8.0  # ... while half of the others keep within this
WEAK_DB = 9.0  # below the reeds beside it in pitch

LOOK = {
    "dirt": "dirt or lint",
    "gap": "gap and curve",
    "centring": "a tongue that touches its slot",
    "valve": "a leaking or stuck valve",
    "screws": "loose screws, or air that leaks beside them",
    "rivet": "a loose rivet",
    "crack": "a crack near the rivet",
    "tip": "a broken tip or lost weight",
}

# By flag of a take, what to look at; flags about the meter or the breath ask for nothing but another take.
_BY_FLAG = {
    "unsteady": ("gap", "valve", "dirt", "rivet"),
    "pulled": ("gap", "valve"),
    "short": ("gap", "valve", "dirt"),
    "disagree": ("dirt", "centring", "valve"),
    "weak": ("gap", "dirt", "valve"),
    "two-reeds": ("valve",),
}


@dataclass(frozen=True)
class Cause:
    """One sign that a reed shows. `look`: keys of LOOK, the first to be looked at first; empty to sound it again."""

    sign: str
    look: tuple[str, ...]
    said: str  # the sign with its numbers

    @property
    def why(self) -> str:
        """One sentence for people."""
        if not self.look:
            return f"{self.said}: sound it again."
        return f"{self.said}: look for {', then '.join(LOOK[what] for what in self.look)}."


def causes(evidence: Evidence) -> dict[int, tuple[Cause, ...]]:
    """The reeds to be looked at, by ordinal, each with its causes, the weightiest first."""
    found: dict[int, tuple[Cause, ...]] = {}
    unisons = _unisons(evidence)
    valves = evidence.instrument.layout.has_valves
    for reed in evidence.instrument.reeds:
        if reed.ordinal not in evidence.readings:
            continue
        signs = (
            _wrong_way(reed, evidence),
            _left_own(reed, evidence),
            _left_others(reed, evidence),
            _sinks(reed, evidence),
            unisons.get(reed.ordinal),
            _scatters(evidence.readings[reed.ordinal]),
            _speaks(evidence.readings[reed.ordinal]),
            _weak(reed, evidence),
        )
        if shown := tuple(cause for cause in signs if cause):
            found[reed.ordinal] = shown if valves else tuple(map(_without_valve, shown))
    return found


def _without_valve(cause: Cause) -> Cause:
    return replace(cause, look=tuple(what for what in cause.look if what != "valve"))


def _wrong_way(reed: InstrumentReed, evidence: Evidence) -> Cause | None:
    step = evidence.step().get(reed.ordinal) if evidence.history else None
    if step is None or evidence.action(reed.ordinal) != "raise" or step.cents > -max(ANSWER_CENTS, step.u95_cents):
        return None
    said = f"Went {signed(step.cents)} ± {step.u95_cents:.1f} cents after it was to be raised"
    return Cause("flatter after a raise", ("crack", "rivet", "dirt"), said)


def _left_own(reed: InstrumentReed, evidence: Evidence) -> Cause | None:
    left = evidence.own.get(reed.ordinal)
    if left is None or evidence.keeps(reed.ordinal):
        return None
    said = f"Reads {signed(left)} cents from its last accepted reading, more than the others moved"
    look = ("dirt", "rivet", "crack") if left < 0 else ("dirt", "gap", "tip")
    return Cause("left its last reading", look, said)


def _left_others(reed: InstrumentReed, evidence: Evidence) -> Cause | None:
    """It lies elsewhere than the rest, which is no sign where it reads as accepted, or its namesakes lie there too."""
    cents = evidence.cents.get(reed.ordinal)
    if cents is None or evidence.keeps(reed.ordinal):
        return None
    rest = [other for n, other in evidence.cents.items() if n != reed.ordinal]
    middle = median(rest) if len(rest) >= REST_LEAST else 0.0
    if abs(cents - middle) <= LEFT_OTHERS_CENTS:
        return None
    namesakes = [
        evidence.cents[other.ordinal]
        for other in evidence.instrument.reeds
        if other.ordinal != reed.ordinal and (other.midi - reed.midi) % 12 == 0 and other.ordinal in evidence.cents
    ]
    if namesakes and abs(cents - median(namesakes)) <= ALIKE_CENTS:
        return None
    said = f"Lies {signed(cents, 0)} cents from its target, the others at {signed(middle, 0)}; if it is the right reed"
    return Cause("left its neighbours", ("dirt", "rivet", "crack") if cents < middle else ("dirt", "tip"), said)


def _sinks(reed: InstrumentReed, evidence: Evidence) -> Cause | None:
    """Falling at every step of the last surveys between which nothing was done to it, and by enough."""
    lost = u95 = 0.0
    surveys = 1
    for place in range(len(evidence.history) - 1, -1, -1):
        step = evidence.step(place).get(reed.ordinal)
        if step is None or step.cents >= 0 or evidence.action(reed.ordinal, place):
            break
        lost, u95, surveys = lost - step.cents, max(u95, step.u95_cents), surveys + 1
    if surveys < 3 or lost <= max(SINKS_CENTS, u95):
        return None
    said = f"Sank {lost:.1f} cents over {surveys} surveys in which the others did not"
    return Cause("sinks", ("rivet", "screws", "crack"), said)


def _unisons(evidence: Evidence) -> dict[int, Cause]:
    """Of two reeds of one pitch that disagree while others agree, the one that lies farther from the rest."""
    by_note: dict[tuple[int, str], list[int]] = {}
    for reed in evidence.instrument.reeds:
        if reed.ordinal in evidence.cents:
            by_note.setdefault((reed.midi, reed.member if reed.base is not None else ""), []).append(reed.ordinal)
    apart = {
        pair: abs(evidence.cents[pair[0]] - evidence.cents[pair[1]])
        for group in by_note.values()
        for pair in combinations(group, 2)
    }
    if len(apart) < REST_LEAST or median(apart.values()) > UNISONS_CENTS:
        return {}
    middle = median(evidence.cents.values())
    found = {}
    for pair, cents in apart.items():
        far, near = sorted(pair, key=lambda n: abs(evidence.cents[n] - middle), reverse=True)
        if cents > UNISON_CENTS and not evidence.keeps(far):
            other = evidence.instrument.reeds[near]
            said = f"Lies {cents:.0f} cents from {other.label}, its unison, while other unisons agree"
            found[far] = Cause("disagrees with its unison", ("valve", "gap", "dirt", "centring"), said)
    return found


def _scatters(reading: Reading) -> Cause | None:
    look = ("valve", "gap", "screws", "rivet")
    if reading.cents is None and reading.state != "again" and not reading.flags:
        return Cause("scatters", look, f"No two of {reading.standing} takes agree")
    if reading.cents is not None and reading.disagreeing >= reading.agreeing:
        heard = reading.disagreeing + reading.agreeing
        return Cause("scatters", look, f"{reading.disagreeing} of {heard} takes do not agree with the others")
    return None


def _speaks(reading: Reading) -> Cause | None:
    """More takes were spoiled than count, mostly in one way."""
    spoiled = reading.standing - reading.agreeing - reading.disagreeing
    if not reading.flags or reading.state == "again" or spoiled <= reading.agreeing:
        return None
    flag = reading.flags[0]
    said = f"{spoiled} of {reading.standing} takes were spoiled, mostly because {FLAG_WORDS[flag]}"
    sign = {"short": "speaks late", "weak": "speaks weak"}.get(flag, "cannot be read")
    return Cause(sign, _BY_FLAG.get(flag, ()), said)


def _weak(reed: InstrumentReed, evidence: Evidence) -> Cause | None:
    level, beside = evidence.levels.get(reed.ordinal), evidence.levels_beside(reed.ordinal)
    if level is None or len(beside) < REST_LEAST or median(beside) - level <= WEAK_DB:
        return None
    said = f"Sounds {median(beside) - level:.0f} dB weaker than the reeds beside it"
    return Cause("speaks weak", ("gap", "dirt", "valve"), said)
