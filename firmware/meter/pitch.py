"""The pitch of a gathered tone: coarse period, phase track, steady span, fine figure, second figure.

`Pitch.measure` is the only door. It never raises over what it hears: the result carries either a figure with
its standard error, or the reason why there is none.
"""

import math
from array import array

from .coarse import LAG_MAX, NEEDED, RATE, W_GLANCE, Coarse
from .crossings import CROSSINGS_MAX, Crossings
from .fit import CENTS, Fit
from .mixing import Mixer
from .steady import Steady, ripple, wavering
from .track import Track

CLARITY_LEAST = 0.55  # autocorrelation at the period, below which nothing is measured
PRIOR_SHARE = 0.8  # the expected period must correlate this well against the best one
MULTIPLE_SHARE = 0.001  # power beside the multiples, below which the reed is really the higher one
LOWER_BANK_GAIN = 0.01  # twice the period correlates better by this: look for a lower bank
LOWER_BANK_SHARE = 0.01
SE_FLOOR_CENTS = 0.01  # random part that the fit cannot see
DRIFT_MOST = 8.0  # cents per second over the span: more is a bend, not a note
DISAGREE_CENTS = 1.0  # between the two figures, their noise apart
# Two reeds beat: level and phase ripple together. Breath moves one or the other, or both slowly.
BEAT_NEPERS = 0.12
BEAT_RADIANS = 0.02
LEAST_S_HIGH = 0.25  # steady tone that is enough from LOW_HZ up
LEAST_S_LOW = 0.5
LOW_HZ = 250


def least_s(hz):
    """Seconds of steady tone that a reed of this pitch needs, less what cutting it into blocks costs."""
    return 0.8 * (LEAST_S_HIGH if hz >= LOW_HZ else LEAST_S_LOW)


class Tone:
    """What was heard: see the attributes set in `__init__`; `uhz` is 0 where there is no figure."""

    def __init__(self):
        self.uhz = 0  # microhertz by the nominal sample rate
        self.hz = 0.0  # the same, single precision on a board; set even where the figure is refused, if only roughly
        self.se_cents = 0.0
        self.check_cents = 0.0
        self.drift_cents_s = 0.0
        self.level_db = -120.0
        self.start = 0  # first sample of the span, counted from the buffer's start
        self.span = 0
        self.flags = []
        self.harmonics = 0
        self.strongest = 0
        self.trace_cents = [0.0] * 32
        self.trace_level_db = [0.0] * 32


class Pitch:
    """Working memory of the whole measurement, about 13 kB beside the samples."""

    def __init__(self):
        # Correlation and crossings are never at work together.
        scratch = array("i", (0 for _ in range(max(NEEDED, CROSSINGS_MAX))))
        self.coarse = Coarse(scratch)
        self.track = Track(Mixer())
        self.crossings = Crossings(scratch)

    def glance(self, samples, start, expected_hz=0.0):
        """(hz, clarity) from NEEDED_GLANCE samples: a first look while the tone still sounds. hz 0: nothing there."""
        self.coarse.listen(samples, start, W_GLANCE)
        period, clarity = self._choose(expected_hz, False)
        return (RATE / period if period else 0.0), clarity

    def _choose(self, expected_hz, sharp=True):
        """The expected reed's period where it fits nearly as well as any other, else the free one."""
        period, clarity = self.coarse.free(sharp)
        if expected_hz:
            near, near_clarity = self.coarse.near(expected_hz, sharp)
            if near and near_clarity >= PRIOR_SHARE * clarity:
                return near, near_clarity
        return period, clarity

    def measure(self, samples, count, expected_hz=0.0):
        """A Tone from samples[:count]. `expected_hz`: the reed that should sound; 0 if unknown."""
        tone = Tone()
        if count < NEEDED:
            tone.flags.append("short")
            return tone
        self.coarse.listen(samples, (count - NEEDED) // 2)
        period, clarity = self._choose(expected_hz)
        if not period or clarity < CLARITY_LEAST:
            tone.flags.append("weak")
            return tone
        track = self.track
        self._follow(samples, count, period)
        if not track.sound:
            tone.flags.append("unsteady")  # periodic, but no harmonic's phase holds together
            return tone
        self._figure(tone, samples)
        return tone

    def _follow(self, samples, count, period):
        """Follows the tone at `period`, or at twice it or a fraction of it where the harmonics say so.

        Correlation cannot tell: a reed an octave, a twelfth or more above fits the period too (then only every
        second, third ... harmonic has power), and a faint lower bank hardly shows beside a loud upper one.
        """
        track = self.track
        twice = 2 * period
        if twice < LAG_MAX - 1 and self.coarse.at(twice) > self.coarse.at(period) + LOWER_BANK_GAIN:
            track.follow(samples, 0, count, twice)
            if track.share_beside(2) > LOWER_BANK_SHARE:
                return
        track.follow(samples, 0, count, period)
        for multiple in (2, 2, 2, 3, 5, 7):
            if track.sound and track.share_beside(multiple) < MULTIPLE_SHARE:
                period /= multiple
                track.follow(samples, 0, count, period)

    def _figure(self, tone, samples):
        track = self.track
        hz = track.oscillator_uhz / 1e6
        steady = Steady(track, hz, least_s(hz))
        first, last = steady.first, steady.last
        fit = Fit(track, first, last)
        tone.hz = hz + fit.hz
        # From the middle of the first point's triangle to the middle of the last one's.
        tone.start = track.start + (first + 1) * track.length
        tone.span = (last - first - 1) * track.length
        tone.harmonics = len(track.used)
        tone.strongest = 1 + max(range(len(track.strength)), key=lambda i: track.strength[i])
        tone.drift_cents_s = fit.drift_hz_s / tone.hz * CENTS
        tone.se_cents = math.sqrt((fit.se_hz / tone.hz * CENTS) ** 2 + SE_FLOOR_CENTS**2)
        self._traces(tone, first, last, fit)
        if steady.reason or abs(tone.drift_cents_s) > DRIFT_MOST:
            tone.flags.append(steady.reason or "unsteady")
            return
        tone.uhz = track.oscillator_uhz + int(fit.hz * 1e6)
        self._second(tone, samples)
        if track.two_banks or self._beating(first, last, fit):
            tone.flags.append("two-reeds")
        elif "disagree" in tone.flags:
            tone.uhz = 0  # one tone and two figures: neither is one
        elif wavering(track, first, last):
            tone.flags.append("wavering")

    def _beating(self, first, last, fit):
        """Whether level and phase ripple together, be it in all harmonics alike or in the strongest low one."""
        strays = max(fit.rms, self.track.apart(first, last)) * 2 * math.pi
        return strays > BEAT_RADIANS and ripple(self.track, first, last) > BEAT_NEPERS

    def _second(self, tone, samples):
        """Zero crossings of the strongest low harmonic against the phase figure."""
        ratio = self.crossings.measure(samples, tone.start, tone.span, tone.hz * self.track.low, self.track.most)
        if ratio is None:
            tone.flags.append("disagree")
            return
        tone.check_cents = ratio * CENTS
        if abs(tone.check_cents) > DISAGREE_CENTS + 4 * tone.se_cents:
            tone.flags.append("disagree")

    def _traces(self, tone, first, last, fit):
        """32 points of pitch against the figure and of level against the mean, over the span."""
        track = self.track
        total = 0.0
        for i in range(first, last):
            total += track.power[i]
        mean = total / (last - first)
        tone.level_db = 10 * math.log10((mean / 2 + 1e-9) / (32768.0 * 32768.0))
        width = (last - 1 - first) / 32
        before = track.phase[first]
        for j in range(32):
            place = first + (j + 1) * width
            i = min(int(place), last - 2)
            here = track.phase[i] + (place - i) * (track.phase[i + 1] - track.phase[i])
            step = (here - before) / (width * track.step_s)
            tone.trace_cents[j] = (step - fit.hz) / tone.hz * CENTS
            middle = min(last - 1, int(first + (j + 0.5) * width))
            tone.trace_level_db[j] = 10 * math.log10((track.power[middle] + 1e-9) / (mean + 1e-9))
            before = here
