"""One phase track for the whole tone, from the phases of several harmonics.

A harmonic's phase divided by its number is an estimate of the fundamental's. They are averaged with the weights
that white noise would ask for, 1 / variance, but with the variance seen in each harmonic's own jitter: so a weak
harmonic, or one that hum or another reed disturbs, counts for little or is left out. One too weak to be followed from
point to point is looked at again along the track that the stronger ones have made.

Harmonics are followed one after the other and averaged at once; only two means are kept, of the odd harmonics and of
the even ones, because two banks of reeds an octave apart share the even ones.
"""

import math
from array import array

from .coarse import RATE, bits
from .fit import CENTS, PHASE_ONE, Groups
from .mixing import POINTS_MOST, TURN_BITS
from .tables import TURN
from .word import EXTEND

HARMONICS_MAX = 18  # all there are below TOP_HZ from 400 Hz up
HARMONICS_LOW = 36  # of reeds below LOW_HZ, whose tone lasts longer
LOW_HZ = 250
TOP_HZ = 7200  # no harmonic above: the microphone's decimation filter begins
LOW = 4  # harmonics among which the strongest is kept by itself
POINTS_LEAST = 8
JITTER_FLOOR = 2e-5  # turns: table and CORDIC
OCTAVE_CENTS = 0.3  # even against odd harmonics, beyond their noise: they are another reed's
OCTAVE_LEAST = 0.05  # they may be; those of one steady reed part by less than a hundredth
OCTAVE_ERRORS = 6
BANK_SHARE = 0.003  # of the power: even harmonics stronger than this are a second reed's, not a leftover
FAINT = 0.01  # of the power: less than this without a phase that holds together is noise
LOST = 0.05  # of the weight that their power promises: odd harmonics that have less are a lower reed not yet settled
FAINTEST = 3e-5  # of the strongest so far: below -45 dB the sine table's steps (-66 dB) sound like a harmonic
JITTER_CLEAR = 0.02  # turns: beyond this, a second look at a harmonic sees more
JITTER_MOST = 0.035  # turns: beyond this, unwrapping slips
ALONE = 0.0032  # turns, 0.02 radians: of two reeds a low harmonic strays by more (docs/pairs.md)
DETECTED = 3.5  # a sum of all points this many times its noise is a harmonic: noise alone gives one in 500
NEAR = 2  # two noise powers within this ratio are taken for one
POWER_BITS = 14  # amplitudes in `power`: the largest sample is at most 2^14
_TURN = 1 << TURN_BITS
_FINER = PHASE_ONE // _TURN


@micropython.viper
def _bends(phases: ptr32, first: int, last: int, third: int, down: int) -> int:
    """Largest second difference (third, if `third`) where `down` is negative, else the sum of their squares >> down.

    A point is at most a turn and a half from the next (mixing), or half a turn at the means' finer scale, so third
    differences stay below 2^28. `down` brings the largest to 12 bits, so that 100 squares stay below 2^31.
    """
    extend = int(EXTEND)
    total = 0
    before = 0
    i = first + 1
    while i < last - 1:
        a = (phases[i - 1] << extend) >> extend
        b = (phases[i] << extend) >> extend
        c = (phases[i + 1] << extend) >> extend
        bend = (a - b) - (b - c)
        change = bend - before
        before = bend
        i += 1
        if third:
            bend = change
            if i == first + 2:
                bend = 0
        if bend < 0:
            bend = 0 - bend
        if down < 0:
            if bend > total:
                total = bend
        else:
            bend = bend >> down
            total += bend * bend
    return total


def jitter(phases, first, last, third=0):
    """RMS noise of one of the points first..last of a phase track, in its units.

    From second differences, in which slow changes of pitch cancel, or from third ones, in which a tremor's do too, but
    also a slow beat with something else that sounds. White noise of variance v leaves 4 v or 12.5 v: 6 v or 20 v, less
    what neighbours have in common, whose triangles overlap and which so correlate by a quarter.
    """
    down = max(0, bits(_bends(phases, first, last, third, -1)) - 12)
    white = (12.5 if third else 4) * max(1, last - first - 2 - third)
    return math.sqrt(_bends(phases, first, last, third, down) / white) * (1 << down)


@micropython.viper
def _blend(mean: ptr32, plan: ptr32, phases: ptr32):
    """mean[i] += share ((phases[i] - middle) finer / harmonic - mean[i]), for each point.

    plan: points, middle, finer, harmonic, share in 1/32768, and 1 where the phases are already against the mean, which
    is then not subtracted. A whole share replaces the mean. Phases stay below 2^30
    (mixing: 156 turns at 2^22 to the turn; the fundamental's, which has no guide, 52); means, at 2^24 to the turn,
    below 2^31. Two estimates that are eight turns apart are nonsense and are held to 2^27.
    """
    extend = int(EXTEND)
    count = plan[0]
    middle = (plan[1] << extend) >> extend
    finer = plan[2]
    harmonic = plan[3]
    share = plan[4]
    beside = plan[5]
    i = 0
    while i < count:
        new = ((phases[i] << extend) >> extend) - middle
        whole = new // harmonic
        new = whole * finer + ((new - whole * harmonic) * finer) // harmonic
        if share < 32768 + beside:
            old = (mean[i] << extend) >> extend
            if beside == 0:
                new -= old
            if new > 0x7FFFFFF:
                new = 0x7FFFFFF
            if new < -0x7FFFFFF:
                new = -0x7FFFFFF
            new = old + (((new >> 12) * share) >> 3) + (((new & 4095) * share) >> 15)
        mean[i] = new
        i += 1


@micropython.viper
def _add_squares(magnitude: ptr32, count: int, factor: int, down: int, power: ptr32) -> int:
    """Adds the squares of amplitudes, magnitude >> 15 times factor >> down, to `power`; returns their sum >> 7.

    Magnitudes are below 2^30, `factor` below 2^15. In the units that `Track._add_power` chooses all harmonics together
    hold at most twice the square of 2^14, and `power` has room for four times that.
    """
    extend = int(EXTEND)
    total = 0
    i = 0
    while i < count:
        a = ((((magnitude[i] << extend) >> extend) >> 15) * factor) >> down
        a = a * a
        power[i] = ((power[i] << extend) >> extend) + a
        total += a >> 7
        i += 1
    return total


class Track:
    """Phase track of a tone. `mixer`: a mixing.Mixer, which others may use while nothing is measured.

    After `follow`: `sound`, whether there is a track at all; `count` points, `step_s` apart, the first at `start`
    (sample number of its block); `phase[i]` of the fundamental against the oscillator `oscillator_uhz`, fit.PHASE_ONE
    to the turn; `power[i]` summed over the harmonics, in squared sample counts times `power_unit`; `strength`, the
    mean power of each in the same unit (0 where it is but noise); `used`, the harmonics that the phase stands on;
    `low`, the strongest of the lowest; `most`, the largest sample; `octave_cents`, by how much a reed an octave above
    is off it beyond the noise, 0 where none may be; `two_banks`, whether that one is loud enough to be a reed.
    """

    def __init__(self, mixer):
        self.mixer = mixer
        self._phases = mixer.phases
        self._lows = mixer.lows  # of the odd, of the even ones
        self._means = [array("i", (0 for _ in range(POINTS_MOST))), mixer.mean]
        self._plan = array("i", (0 for _ in range(6)))
        self.phase = self._means[0]
        self.power = array("i", (0 for _ in range(POINTS_MOST)))

    def follow(self, samples, start, count, period):
        """Follows the tone of this period (samples) through `count` samples from `start` on."""
        mixer = self.mixer
        mixer.cut(samples, start, count, period)
        self.count = mixer.count
        self.start = mixer.start
        self.length = mixer.length
        self.most = mixer.most
        self.step_s = mixer.length / RATE
        self.oscillator_uhz = mixer.turn * RATE * 1000000 // (TURN * mixer.length)
        self.sound = False
        self.octave_cents = 0.0
        self.two_banks = False
        self.used = []
        self.strength = [0]
        if self.count < POINTS_LEAST:
            return
        self.power[:] = self._means[0][:] = self._means[1][:] = array("i", bytes(4 * len(self.power)))
        self._gain = 2.0 ** (POWER_BITS - bits(self.most))
        self.power_unit = self._gain * self._gain
        self.strength = array("f")  # a list would box each
        self._weights = array("f")
        self._totals = [0.0, 0.0]
        self._quiet = self._heard = 0
        self._low = [0, 0]
        most = HARMONICS_LOW if period * LOW_HZ > RATE else HARMONICS_MAX
        for k in range(1, max(1, min(most, int(TOP_HZ * period / RATE))) + 1):
            self._one(k)
        self._join()

    def _one(self, harmonic):
        """Follows one harmonic and averages it in."""
        phases, count = self._phases, self.count
        side = (harmonic - 1) & 1
        if not self._totals[side]:
            self._means[side][:] = self._means[1 - side]  # the only guide there is
        mixer = self.mixer
        scale = mixer.follow(harmonic, self._means[side], phases)
        self.strength.append(self._add_power(scale))
        noise = jitter(phases, 0, count) / _TURN
        low = self._low[side]
        if harmonic <= LOW and (not low or self.strength[-1] > self.strength[low - 1]):
            self._low[side] = harmonic
            self._lows[side][:] = phases
        weight, most, beside = 0.0, JITTER_MOST, 0
        if noise > JITTER_CLEAR and (self._totals[0] or self._totals[1]):
            noise = most = math.sqrt(count) / (2 * math.pi * DETECTED)
            beside = 1
            if mixer.look_again(harmonic, self._means[side], phases):
                noise = jitter(phases, 0, count) / _TURN
        if noise < most and self.strength[-1] > FAINTEST * max(self.strength):
            weight = self._weight(harmonic, noise)
            self._average(side, phases, phases[count // 2], _FINER, harmonic, weight, beside)
        self._weights.append(weight)

    def _weight(self, harmonic, noise):
        """1 / variance of a point of the fundamental's phase by this harmonic, whose own jitters by `noise` turns.

        A few points tell noise badly, and weights that are off cost accuracy. As noise is much the same from harmonic
        to harmonic, what is near the mean of those so far is taken for that.
        """
        power = self.strength[-1]
        own = (noise * noise + JITTER_FLOOR * JITTER_FLOOR) * power
        self._quiet += 1 / own
        self._heard += 1
        usual = self._heard / self._quiet
        if usual < NEAR * own and own < NEAR * usual:
            own = usual
        return harmonic * harmonic * power / own

    def _average(self, side, phases, middle, finer, harmonic, weight, beside):
        self._totals[side] += weight
        plan = self._plan
        plan[0], plan[1], plan[2], plan[3] = self.count, middle, finer, harmonic
        plan[4], plan[5] = int(32768 * weight / self._totals[side] + 0.5), beside
        _blend(self._means[side], plan, phases)

    def _add_power(self, scale):
        """Adds the harmonic just followed to `power`; returns its mean power in the same unit."""
        # Magnitude carries 2^scale, CORDIC gain, half the table's 32767 and the triangle's area.
        factor, up = math.frexp(self._gain * 2.0 ** (15 - scale) / (1.646760 * 16383.5 * self.length * self.length))
        down = 15 - up
        if down > 30:
            down = 30
        total = _add_squares(self.mixer.magnitude, self.count, int(factor * 32767), down, self.power)
        return total * 128.0 / self.count

    def _join(self):
        """Joins the two means; of two reeds an octave apart, keeps the lower one's."""
        weights, totals = self._weights, self._totals
        power = sum(self.strength)
        for i, weight in enumerate(weights):
            if not weight and self.strength[i] < FAINT * power:
                self.strength[i] = 0  # noise, not a harmonic
        if totals[0] and totals[1]:
            self.octave_cents = self._octave()
        octave = self.octave_cents > OCTAVE_CENTS
        if octave:
            self.two_banks = sum([self.strength[i] for i in range(1, len(weights), 2)]) > BANK_SHARE * power
            totals[1] = 0.0
        total = totals[0] + totals[1]
        self.sound = total > 0 and not self._lost(totals)
        self.used = [i + 1 for i, w in enumerate(weights) if w > 0.001 * total and (totals[1] or not i & 1)]
        self._side = 0 if octave or self._low[1] == 0 else self._stronger()
        self.low = self._low[self._side]
        if totals[1]:
            self._average(0, self._means[1], 0, 1, 1, totals[1], 0)

    def _lost(self, totals):
        """Whether only the even harmonics hold still, though the odd ones are no noise."""
        promised = [0.0, 0.0]
        for i, power in enumerate(self.strength):
            promised[i & 1] += (i + 1) * (i + 1) * power
        odd, even = promised
        return totals[0] * even < LOST * totals[1] * odd and self.share_beside(2) > FAINT

    def _stronger(self):
        odd, even = self._low
        return 1 if self.strength[even - 1] > self.strength[odd - 1] else 0

    def _octave(self):
        """Cents beyond their noise by which even and odd harmonics part; 0 where one reed may make both."""
        odd, odd_error = self._slope(self._means[0])
        even, even_error = self._slope(self._means[1])
        unit = CENTS / self.step_s / (self.oscillator_uhz / 1e6)
        cents = (even - odd) * unit
        noise = math.sqrt(odd_error * odd_error + even_error * even_error) * unit
        cents = abs(cents) - OCTAVE_ERRORS * noise
        return cents if cents > OCTAVE_LEAST else 0.0

    def _slope(self, phases):
        """(turns a point, its standard error) of a phase track over the middle three quarters."""
        groups = Groups(phases, self.count // 8, self.count - self.count // 8)
        square = product = 0.0
        for size, place, mean in zip(groups.sizes, groups.places, groups.means):
            square += size * place * place
            product += size * place * mean
        return groups.line + product / square, jitter(phases, 0, self.count) / PHASE_ONE * math.sqrt(1.5 / square)

    def apart(self, first, last):
        """RMS in turns by which the strongest low harmonic strays from the joined track between two points.

        One reed's harmonics move together; where a second reed sounds they beat, each at its own rate.
        """
        return self._stray(self._side, first, last)

    def alone(self):
        """Whether all harmonics move together as one reed's do, so that nobody need look for a second one.

        Looked at are the strongest low harmonic of the odd and of the even ones: of two reeds an octave apart the upper
        one has no part in the odd ones. What a breath does to pitch and level it does to all harmonics alike.
        """
        if not self.sound or self.octave_cents or len(self.used) < 2:
            return False
        return all([self._stray(side, 0, self.count) < ALONE for side in (0, 1) if self._low[side]])

    def _stray(self, side, first, last):
        phases, low = self._lows[side], self._low[side]
        middle = (first + last) // 2
        here, there = phases[middle], self.phase[middle]
        strays = [_FINER * (phases[i] - here) - low * (self.phase[i] - there) for i in range(first, last)]
        mean = sum(strays) / len(strays)
        return math.sqrt(sum([(s - mean) * (s - mean) for s in strays]) / len(strays)) / PHASE_ONE

    def noise(self, first, last, third=0):
        """RMS noise of one point of `phase` between two points, in turns; see `jitter`."""
        return jitter(self.phase, first, last, third) / PHASE_ONE

    def share_beside(self, multiple):
        """Share of the power in harmonics that are not multiples of `multiple`; 1 where none could be."""
        if len(self.strength) < multiple:
            return 1.0
        rest = sum([p for i, p in enumerate(self.strength) if (i + 1) % multiple])
        return rest / max(1e-9, sum(self.strength))
