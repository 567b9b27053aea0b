"""One phase track for the whole tone, from the phases of several harmonics.

A harmonic's phase divided by its number is an estimate of the fundamental's. They are averaged with the weights
that white noise would ask for, 1 / variance, but with the variance seen in each harmonic's own jitter: so a weak
harmonic, one that hum or another reed disturbs, or one whose phase slips, counts for little or is left out.

Harmonics are followed one after the other and added up at once; only two sums are kept, of the odd harmonics and of
the even ones, because two banks of reeds an octave apart share the even ones.
"""

import math
from array import array

from .coarse import RATE, bits
from .fit import CENTS
from .mixing import BLOCKS_MAX, TURN_BITS
from .word import EXTEND

HARMONICS_MAX = 18  # all there are below TOP_HZ from 400 Hz up
TOP_HZ = 7200  # no harmonic above: the microphone's decimation filter begins
LOW = 4  # harmonics among which the strongest is kept by itself
POINTS_LEAST = 8
JITTER_FLOOR = 2e-5  # turns: table and CORDIC
OCTAVE_CENTS = 0.3  # even against odd harmonics, beyond their noise
OCTAVE_ERRORS = 6
BANK_SHARE = 0.003  # of the power: even harmonics stronger than this are a second reed's, not a leftover
FAINT = 0.01  # of the power: less than this without a phase that holds together is noise
JITTER_MOST = 0.06  # turns: beyond this, unwrapping slips
_TURN = float(1 << TURN_BITS)


@micropython.viper
def _bends(phases: ptr32, count: int, down: int) -> int:
    """Largest second difference over two points where `down` is negative, else the sum of their squares >> down.

    Phases stay below 2^28 in magnitude (mixing: 2^22 to the turn, fewer than 52 turns), second differences below
    2^30. `down` brings the largest to 12 bits, so that 100 squares stay below 2^31.
    """
    extend = int(EXTEND)
    total = 0
    i = 2
    while i < count - 2:
        a = (phases[i - 2] << extend) >> extend
        b = (phases[i] << extend) >> extend
        c = (phases[i + 2] << extend) >> extend
        bend = a - b - b + c
        if bend < 0:
            bend = 0 - bend
        if down < 0:
            if bend > total:
                total = bend
        else:
            bend = bend >> down
            total += bend * bend
        i += 1
    return total


def jitter(phases, count):
    """RMS phase noise of one point in turns, from second differences over two points (neighbours overlap).

    Slow changes of pitch cancel in second differences; white noise of variance v leaves 6 v.
    """
    down = max(0, bits(_bends(phases, count, -1)) - 12)
    return math.sqrt(_bends(phases, count, down) / (6 * max(1, count - 4))) * (1 << down) / _TURN


class Track:
    """Phase track of a tone.

    After `follow`: `sound`, whether there is a track at all; `count` points, `step_s` apart, the first at `start`
    (sample number of its block); `phase[i]` in turns of the fundamental against the oscillator `oscillator_uhz`;
    `power[i]` summed over the harmonics, in squared sample counts; `strength`, the mean power of each (0 where it is
    but noise); `used`, the harmonics that the phase stands on; `low`, the strongest of the lowest; `most`, the
    largest sample; `octave_cents`, by how much a reed an octave above is off it, 0 where none is; `two_banks`,
    whether that one is loud enough to be a reed.
    """

    def __init__(self, mixer):
        self._mixer = mixer
        size = BLOCKS_MAX + 8
        self._phases = array("i", (0 for _ in range(size)))
        self._lows = [array("i", (0 for _ in range(size))) for _ in range(2)]  # of the odd, of the even ones
        self._sums = [array("f", (0 for _ in range(size))) for _ in range(2)]
        self.phase = self._sums[0]
        self.power = array("f", (0 for _ in range(size)))

    def follow(self, samples, start, count, period):
        """Follows the tone of this period (samples) through `count` samples from `start` on."""
        mixer = self._mixer
        mixer.cut(samples, start, count, period)
        self.count = mixer.count
        self.start = mixer.start
        self.length = mixer.length
        self.most = mixer.most
        self.step_s = mixer.length / RATE
        self.oscillator_uhz = mixer.turn * RATE * 1000000 // (4096 * mixer.length)
        self.sound = False
        self.octave_cents = 0.0
        self.two_banks = False
        self.used = []
        self.strength = [0.0]
        if self.count < POINTS_LEAST:
            return
        for i in range(self.count):
            self.power[i] = self._sums[0][i] = self._sums[1][i] = 0.0
        harmonics = max(1, min(HARMONICS_MAX, int(TOP_HZ * period / RATE)))
        self.strength = []
        self._jitter = []
        self._low = [0, 0]
        for k in range(1, harmonics + 1):
            self._one(k)
        self._join()

    def _one(self, harmonic):
        """Follows one harmonic and adds it up."""
        scale = self._mixer.follow(harmonic, self._phases)
        self.strength.append(self._add_power(scale))
        noise = jitter(self._phases, self.count)
        self._jitter.append(noise)
        side = (harmonic - 1) & 1
        if noise < JITTER_MOST:
            share = _weight(harmonic, noise) / harmonic / _TURN
            phases, sums = self._phases, self._sums[side]
            # Points are taken against the middle one: small numbers keep their digits in single precision.
            middle = phases[self.count // 2]
            for i in range(self.count):
                sums[i] += share * (phases[i] - middle)
        low = self._low[side]
        if harmonic <= LOW and (not low or self.strength[-1] > self.strength[low - 1]):
            self._low[side] = harmonic
            self._lows[side][:] = self._phases

    def _add_power(self, scale):
        """Adds the harmonic just followed to `power`; returns its mean power in squared sample counts."""
        # Magnitude carries 2^scale, CORDIC gain, half the table's 32767 and the triangle's area.
        unit = 2.0**-scale / (1.646760 * 16383.5 * self.length * self.length)
        unit *= unit
        magnitude, power = self._mixer.magnitude, self.power
        total = 0.0
        for i in range(self.count):
            square = float(magnitude[i])
            square *= square * unit
            power[i] += square
            total += square
        return total / self.count

    def _join(self):
        """Joins the two sums; of two reeds an octave apart, keeps the lower one's."""
        weights = [_weight(i + 1, noise) if noise < JITTER_MOST else 0.0 for i, noise in enumerate(self._jitter)]
        power = sum(self.strength)
        for i, weight in enumerate(weights):
            if not weight and self.strength[i] < FAINT * power:
                self.strength[i] = 0.0  # noise, not a harmonic
        totals = [sum(weights[0::2]), sum(weights[1::2])]
        if totals[0] and totals[1]:
            self.octave_cents = self._octave(totals)
        if self.octave_cents:
            self.two_banks = sum(self.strength[1::2]) > BANK_SHARE * power
            totals[1] = 0.0
        total = totals[0] + totals[1]
        self.sound = total > 0
        self.used = [i + 1 for i, w in enumerate(weights) if w > 0.001 * total and (totals[1] or not i & 1)]
        low = 0 if self.octave_cents or self._low[1] == 0 else self._stronger()
        self.low, self._low_phases = self._low[low], self._lows[low]
        odd, even = self._sums
        for i in range(self.count):
            joined = odd[i] + even[i] if totals[1] else odd[i]
            odd[i] = joined / total if total else 0.0

    def _stronger(self):
        odd, even = self._low
        return 1 if self.strength[even - 1] > self.strength[odd - 1] else 0

    def _octave(self, totals):
        """Cents by which the even harmonics run away from the odd ones; 0 where one reed makes both."""
        odd, odd_error = self._slope(self._sums[0], totals[0])
        even, even_error = self._slope(self._sums[1], totals[1])
        unit = CENTS / self.step_s / (self.oscillator_uhz / 1e6)
        cents = (even - odd) * unit
        noise = math.sqrt(odd_error * odd_error + even_error * even_error) * unit
        return cents if abs(cents) > OCTAVE_CENTS + OCTAVE_ERRORS * noise else 0.0

    def _slope(self, sums, total):
        """(turns a point, its standard error) of one of the two sums over the middle three quarters."""
        low, high = self.count // 8, self.count - self.count // 8
        half = (high - low - 1) / 2
        num = den = rough = 0.0
        for i in range(low, high):
            t = i - low - half
            num += t * sums[i]
            den += t * t
            if 2 <= i < self.count - 2:
                bend = sums[i - 2] - 2 * sums[i] + sums[i + 2]
                rough += bend * bend
        noise = math.sqrt(rough / (6 * (high - low)))
        return num / den / total, noise / total * math.sqrt(1.5 / den)

    def apart(self, first, last):
        """RMS in turns by which the strongest low harmonic strays from the joined track between two points.

        One reed's harmonics move together; where a second reed sounds they beat, each at its own rate.
        """
        phases = self._low_phases
        middle = phases[(first + last) // 2]
        strays = [(phases[i] - middle) / _TURN - self.low * self.phase[i] for i in range(first, last)]
        mean = sum(strays) / len(strays)
        return math.sqrt(sum([(s - mean) * (s - mean) for s in strays]) / len(strays))

    def share_beside(self, multiple):
        """Share of the power in harmonics that are not multiples of `multiple`; 1 where none could be."""
        if len(self.strength) < multiple:
            return 1.0
        rest = sum([p for i, p in enumerate(self.strength) if (i + 1) % multiple])
        return rest / max(1e-9, sum(self.strength))


def _weight(harmonic, noise):
    return harmonic * harmonic / (noise * noise + JITTER_FLOOR * JITTER_FLOOR)
