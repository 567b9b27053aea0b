"""The pitch of a gathered tone: coarse period, phase track, steady span, fine figure, second figure.

`Pitch.measure` is the only door. It never raises over what it hears: the result carries either a figure with
its standard error, or the reason why there is none.
"""

import math
from array import array

from .coarse import (
    BARE,
    COARSE_NEEDED,
    LAG_MAX,
    LOW_VIEW,
    NEEDED,
    NEEDED_GLANCE,
    PRIOR_CENTS,
    RATE,
    SMOOTH,
    W_GLANCE,
    Coarse,
    W,
)
from .crossings import CROSSINGS_MAX, Crossings
from .fit import CENTS, PHASE_ONE, Fit
from .mixing import MIXER_NEEDED, Mixer
from .steady import Steady, ripple, wavering
from .track import Track

LOWEST_HZ, HIGHEST_HZ = 31, 3700  # nothing is measured outside
CLEAR = 0.8  # autocorrelation at the period, below which other ways to look are tried
BARE_HZ = 1500  # a reed above may lose its second harmonic, perhaps the only one, to smoothing: it is seen bare first
LOW_GAIN = 0.05  # a period longer than LAG_MAX must correlate better by this
CLARITY_LEAST = 0.55  # autocorrelation at the period, below which nothing is measured
PRIOR_SHARE = 0.8  # the expected period must correlate this well against the best one
MULTIPLE_SHARE = 0.001  # power beside the multiples, below which the reed is really the higher one
LOWER_BANK_GAIN = 0.01  # twice the period correlates better by this: look for a lower bank
LOWER_BANK_SHARE = 0.01
SE_FLOOR_CENTS = 0.00001  # random part that the fit cannot see: tables and rounding
DRIFT_MOST = 8.0  # cents per second over the span: more is a bend, not a note
DISAGREE_CENTS = 1.0  # between the two figures, their noise apart
# Two reeds beat: level and phase ripple together. Breath moves one or the other, or both slowly.
BEAT_NEPERS = 0.12
BEAT_RADIANS = 0.02
LEAST_S = 0.25  # steady tone that is enough ...
LEAST_PERIODS = 16  # ... if it has so many


def least_s(hz):
    """Seconds of steady tone that a reed of this pitch needs, less what cutting it into blocks costs."""
    return 0.8 * max(LEAST_S, LEAST_PERIODS / hz)


def _fits(period, expected_hz):
    """Whether a period in samples is the expected reed's, or near it."""
    return period > 0 and abs(math.log(period * max(1.0, expected_hz) / RATE)) < PRIOR_CENTS / CENTS


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
        self.pair = None  # a pair.Pair, where two reeds were told apart
        self.band = None  # the baseband.Baseband of two reeds, good until the next tone is measured


class Pitch:
    """Working memory of the whole measurement, about 11 kB beside the samples."""

    def __init__(self):
        # Correlation, mixing and crossings are never at work together, nor a baseband.Baseband with any of them;
        # crossings leave what the mixer keeps of lows.
        self.scratch = scratch = array("i", (0 for _ in range(max(COARSE_NEEDED, MIXER_NEEDED, CROSSINGS_MAX))))
        self.coarse = Coarse(scratch)
        self.track = Track(Mixer(scratch))
        self.crossings = Crossings(scratch)

    def glance(self, samples, count, expected_hz=0.0):
        """(hz, clarity) from the end of samples[:count]: a first look while the tone sounds. hz 0: nothing there."""
        period, clarity = self._period(samples, count - NEEDED_GLANCE, count, W_GLANCE, expected_hz, expected_hz, False)
        return (RATE / period if period else 0.0), clarity

    def _period(self, samples, start, end, width, expected_hz, seen_hz, sharp=True):
        """(period in samples, clarity) of the tone near `start`, and whether it may have a lower bank in `_lower`."""
        coarse = self.coarse
        high = seen_hz > BARE_HZ
        found = self._look(samples, start, width, BARE if high else SMOOTH, expected_hz, sharp)
        if found[1] < CLEAR or (expected_hz > BARE_HZ and not _fits(found[0], expected_hz)):
            other = self._look(samples, start, width, SMOOTH if high else BARE, expected_hz, sharp)
            smooth, bare = (other, found) if high else (found, other)
            better = bare[1] > smooth[1] or (_fits(bare[0], expected_hz) and bare[1] > PRIOR_SHARE * smooth[1])
            found = bare if better else smooth
        period, clarity, self._lower = found
        reach = 2 * (width + LAG_MAX + 2)
        if (period > LAG_MAX // 2 or clarity < CLEAR) and end >= reach:
            coarse.listen(samples, min(start, end - reach), width, LOW_VIEW)
            low, low_clarity = self._choose(expected_hz, 2, sharp)
            if 2 * low > LAG_MAX and low_clarity > clarity + LOW_GAIN:
                return 2 * low, low_clarity
            self._lower = self._gains(period / 2)
        return period, clarity

    def _look(self, samples, start, width, way, expected_hz, sharp):
        """(period, clarity, whether there may be a lower bank) as seen in one of the ways to look."""
        self.coarse.listen(samples, start, width, way)
        period, clarity = self._choose(expected_hz, 1, sharp)
        return period, clarity, self._gains(period)

    def _gains(self, period):
        """Whether twice this period correlates better: a lower bank of reeds may sound beside a loud upper one."""
        twice = 2 * period
        return 0 < twice < LAG_MAX - 1 and self.coarse.at(twice) > self.coarse.at(period) + LOWER_BANK_GAIN

    def _choose(self, expected_hz, every, sharp):
        """The expected reed's period where it fits nearly as well as any other, else the free one."""
        period, clarity = self.coarse.free(sharp)
        if expected_hz:
            near, near_clarity = self.coarse.near(RATE / expected_hz / every, sharp)
            if near and near_clarity >= PRIOR_SHARE * clarity:
                return near, near_clarity
        return period, clarity

    def measure(self, samples, count, expected_hz=0.0, seen_hz=0.0):
        """Tone of samples[:count]. `expected_hz`: of the reed that should sound, `seen_hz`: of a glance; 0: unknown."""
        tone = Tone()
        self.track.oscillator_uhz = 0  # nothing followed yet
        self.track.sound = False
        if count < NEEDED:
            tone.flags.append("short")
            return tone
        period, clarity = self._period(samples, (count - NEEDED) // 2, count, W, expected_hz, expected_hz or seen_hz)
        if not period or clarity < CLARITY_LEAST:
            tone.flags.append("weak")
            return tone
        track = self.track
        self._follow(samples, count, period)
        if not track.sound:
            tone.flags.append("unsteady")  # periodic, but no harmonic's phase holds together
            return tone
        if not LOWEST_HZ < track.oscillator_uhz / 1e6 < HIGHEST_HZ:
            tone.flags.append("weak")
            return tone
        self._figure(tone, samples)
        return tone

    def _follow(self, samples, count, period):
        """Follows the tone at `period`, or at twice it or a fraction of it where the harmonics say so.

        Correlation cannot tell: a reed an octave, a twelfth or more above fits the period too (then only every
        second, third ... harmonic has power), and a faint lower bank hardly shows beside a loud upper one.
        """
        track = self.track
        if self._lower:
            track.follow(samples, 0, count, 2 * period)
            if track.share_beside(2) > LOWER_BANK_SHARE and any([k % 2 for k in track.used]):
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
        self._judge(tone, samples, steady.reason, first, last, fit)
        tone.start += fit.margin * track.length
        tone.span -= 2 * fit.margin * track.length
        self._traces(tone, first + fit.margin, last - fit.margin, fit)

    def _judge(self, tone, samples, reason, first, last, fit):
        """Flags, and the figure unless something speaks against there being one."""
        track = self.track
        if reason or abs(tone.drift_cents_s) > DRIFT_MOST:
            tone.flags.append(reason or "unsteady")
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
        total = sum([track.power[i] / (last - first) for i in range(first, last)])
        mean = total / track.power_unit
        tone.level_db = 10 * math.log10((mean / 2 + 1e-9) / (32768.0 * 32768.0))
        width = (last - 1 - first) / 32
        before = track.phase[first]
        for j in range(32):
            place = first + (j + 1) * width
            i = min(int(place), last - 2)
            here = track.phase[i] + (place - i) * (track.phase[i + 1] - track.phase[i])
            step = (here - before) / (width * track.step_s * PHASE_ONE)
            tone.trace_cents[j] = (step - fit.hz) / tone.hz * CENTS
            middle = min(last - 1, int(first + (j + 0.5) * width))
            tone.trace_level_db[j] = 10 * math.log10((track.power[middle] + 1e-9) / (total + 1e-9))
            before = here
