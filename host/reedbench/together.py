"""What sounds together: how fast the unisons and octaves of an instrument beat, now and after the plan.

Solo tuning has doubled notes and notes that slide in and slide out alike; a ten-hole instrument has its doubled fifth;
a bellows sounds the same key both ways. A meter sets each reed to itself; the ear hears two of them, by their beats.

A rate here has a sign: above zero the interval is wide, the upper reed too high for the lower. Of two tones that would
be p : q in tune the partials that nearly meet are q times the upper and p times the lower, so they beat
|q f(upper) - p f(lower)| times a second (J. Neurosci. 32(35), 2012, 12251, Table 1).
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from itertools import combinations, product

from reedbench.instrument import Instrument, InstrumentReed
from reedbench.reading import Reading
from reedbench.tuning import cents_between, raised

# Common practice, no source:
GOAL_HZ = 0.5  # beats a second from what is wanted; good shops bring unisons and octaves under it
GOAL_CENTS = 1.0  # ... but no reed is set finer than this, which is more than that from A5 up
SEEN_HZ = 0.05  # what shows at all, in tenths of a beat a second


@dataclass(frozen=True)
class Interval:
    """Two notes that the ear compares, in the ratio they would have in just tuning."""

    name: str
    semitones: int
    ratio: tuple[int, int]  # upper, lower

    def wide_hz(self, lower_hz: float, upper_hz: float) -> float:
        """Beats a second, above zero where the upper tone is too high for a just interval."""
        upper, lower = self.ratio
        return lower * upper_hz - upper * lower_hz


UNISON = Interval("unison", 0, (1, 1))
OCTAVE = Interval("octave", 12, (2, 1))
PAIR = Interval("pair", 0, (1, 1))  # of tremolo reeds, which are to beat
CHORDS = (
    Interval("minor third", 3, (6, 5)),
    Interval("major third", 4, (5, 4)),
    Interval("fourth", 5, (4, 3)),
    Interval("fifth", 7, (3, 2)),
    Interval("minor sixth", 8, (8, 5)),
    Interval("major sixth", 9, (5, 3)),
)


@dataclass(frozen=True)
class Together:
    """Two reeds of an instrument and how fast they beat. Rates have signs: above zero is wide."""

    lower: InstrumentReed  # of a pair the base reed
    upper: InstrumentReed
    interval: Interval
    at_once: bool  # whether one breath can sound both
    wanted_hz: float  # by their targets: 0 for unisons, 0 for octaves that are not stretched
    now_hz: float | None  # by their readings
    u95_hz: float | None  # of that; the meter's clock, common to both, left out
    after_hz: float | None  # by what each is expected to read after the plan
    mean_cents: float | None  # of a unison or pair by their readings: its middle, from the middle wanted

    @property
    def pair(self) -> bool:
        """Whether one key or hole sounds both, as a pair or an octave: then they can be heard together."""
        return _one_key(self.lower, self.upper) and self.interval is not UNISON

    @property
    def off_hz(self) -> float | None:
        """Beats a second from what is wanted, now."""
        return None if self.now_hz is None else abs(self.now_hz - self.wanted_hz)

    @property
    def off_after_hz(self) -> float | None:
        """Beats a second from what is wanted, after the plan."""
        return None if self.after_hz is None else abs(self.after_hz - self.wanted_hz)

    @property
    def words(self) -> str:
        """For people: "beats 1.4, wanted 2.0, after this pass 1.9"; a second, whichever way, those that are known."""
        wanted = self.wanted_hz if abs(self.wanted_hz) >= SEEN_HZ else None
        rates = {"beats": self.now_hz, "wanted": wanted, "after this pass": self.after_hz}
        return ", ".join(f"{what} {abs(rate):.1f}" for what, rate in rates.items() if rate is not None)

    @property
    def still(self) -> bool:
        """Whether it will beat otherwise than it should after the plan."""
        return self.off_after_hz is not None and self.off_after_hz > self.goal_hz

    @property
    def goal_hz(self) -> float:
        """How far from what is wanted it may beat."""
        cent = self.interval.ratio[1] * self.upper.target_hz * (2 ** (GOAL_CENTS / 1200) - 1)
        return max(GOAL_HZ, cent)


def together(
    instrument: Instrument,
    readings: Mapping[int, Reading],
    after_cents: Mapping[int, float] | None = None,
    chords: bool = False,
) -> list[Together]:
    """Everything in `instrument` that should agree: pairs, unisons and octaves, the worst against its goal first.

    `readings` and `after_cents` (what a reed is expected to read, from its target) are by ordinal; reeds may be
    missing in either. `chords`: thirds, fourths, fifths and sixths that one breath sounds, too.
    """
    found = [
        _together(low, high, interval, readings, after_cents or {})
        for low, high, interval in _intervals(instrument, chords)
    ]
    return sorted(found, key=lambda one: -1.0 if one.off_hz is None else one.off_hz / one.goal_hz, reverse=True)


def pairs_of(instrument: Instrument) -> list[tuple[InstrumentReed, InstrumentReed, Interval]]:
    """(base, partner, PAIR or OCTAVE) of each two that one key or hole sounds; of an octave the lower is the base."""
    return [
        (low, high, interval)
        for low, high, interval in _intervals(instrument, False)
        if interval is not UNISON and _one_key(low, high)
    ]


def _intervals(instrument: Instrument, chords: bool) -> Iterable[tuple[InstrumentReed, InstrumentReed, Interval]]:
    """(lower, upper, interval) of all that should agree. Tremolo reeds count with their base, and with their like."""
    reeds = instrument.reeds
    by_note: dict[tuple[str, int], list[InstrumentReed]] = {}
    for reed in reeds:
        by_note.setdefault((reed.member if reed.base is not None else "", reed.midi), []).append(reed)
        if reed.base is not None:
            yield reeds[reed.base], reed, PAIR
    for (member, midi), group in by_note.items():
        yield from ((low, high, UNISON) for low, high in combinations(group, 2))
        if member:
            continue
        for interval in (OCTAVE, *(CHORDS if chords else ())):
            for low, high in product(group, by_note.get(("", midi + interval.semitones), ())):
                if interval is OCTAVE or _at_once(low, high):
                    yield low, high, interval


def _at_once(low: InstrumentReed, high: InstrumentReed) -> bool:
    """Whether one breath sounds both: air and slide the same way."""
    return (low.breath, low.slide) == (high.breath, high.slide)


def _one_key(low: InstrumentReed, high: InstrumentReed) -> bool:
    """Whether one key or hole sounds both."""
    return low.place == high.place and _at_once(low, high)


def _together(
    low: InstrumentReed,
    high: InstrumentReed,
    interval: Interval,
    readings: Mapping[int, Reading],
    after: Mapping[int, float],
) -> Together:
    low_now, high_now = (_read_hz(reed, readings.get(reed.ordinal)) for reed in (low, high))
    then = [raised(reed.target_hz, after[reed.ordinal]) for reed in (low, high) if reed.ordinal in after]
    now_hz = u95_hz = mean = None
    if low_now and high_now:
        (low_hz, low_u), (high_hz, high_u) = low_now, high_now
        now_hz = interval.wide_hz(low_hz, high_hz)
        upper, lower = interval.ratio
        u95_hz = math.hypot(upper * low_u, lower * high_u)
        if interval.semitones == 0:
            mean = cents_between(low_hz + high_hz, low.target_hz + high.target_hz)
    return Together(
        lower=low,
        upper=high,
        interval=interval,
        at_once=_at_once(low, high),
        wanted_hz=interval.wide_hz(low.target_hz, high.target_hz),
        now_hz=now_hz,
        u95_hz=u95_hz,
        after_hz=interval.wide_hz(*then) if len(then) == 2 else None,
        mean_cents=mean,
    )


def _read_hz(reed: InstrumentReed, reading: Reading | None) -> tuple[float, float] | None:
    """(hertz, 95 % uncertainty without the clock's share) that a reed reads; None without a reading."""
    if reading is None or reading.cents is None or reading.u95_cents is None:
        return None
    hz = raised(reed.target_hz, reading.cents)
    clock = reading.clock_u95_cents or 0.0
    own = math.sqrt(max(0.0, reading.u95_cents**2 - clock**2))
    return hz, hz * (2 ** (own / 1200) - 1)
