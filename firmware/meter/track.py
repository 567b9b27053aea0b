"""One phase track for the whole tone, from the phases of several harmonics.

A harmonic's phase divided by its number is an estimate of the fundamental's. They are averaged with the weights
that white noise would ask for, 1 / variance, but with the variance seen in each harmonic's own jitter: so a weak
harmonic, one that hum or another reed disturbs, or one whose phase slips, counts for little or is left out.
"""

import math
from array import array

from .coarse import RATE
from .fit import CENTS
from .mixing import BLOCKS_MAX, TURN_BITS

HARMONICS_MAX = 12
TOP_HZ = 7200  # no harmonic above: the microphone's decimation filter begins
POINTS_LEAST = 8
JITTER_FLOOR = 2e-5  # turns: table and CORDIC
OCTAVE_CENTS = 0.3  # even against odd harmonics, beyond their noise
OCTAVE_ERRORS = 6
BANK_SHARE = 0.003  # of the power: even harmonics stronger than this are a second reed's, not a leftover
FAINT = 0.01  # of the power: less than this without a phase that holds together is noise
JITTER_MOST = 0.06  # turns: beyond this, unwrapping slips
_TURN = float(1 << TURN_BITS)


def jitter(phases, count):
    """RMS phase noise of one point in turns, from second differences over two blocks (neighbours overlap).

    Slow changes of pitch cancel in second differences; white noise of variance v leaves 6 v.
    """
    total = 0.0
    for i in range(2, count - 2):
        bend = (phases[i - 2] - 2 * phases[i] + phases[i + 2]) / _TURN
        total += bend * bend
    return math.sqrt(total / (6 * max(1, count - 4)))


class Track:
    """Phase track of a tone.

    After `follow`: `sound`, whether there is a track at all; `count` points, `step_s` apart, the first at `start`
    (sample number of its block); `phase[i]` in turns of the fundamental against the oscillator `oscillator_uhz`;
    `power[i]` summed over the harmonics, in squared sample counts; `strength`, the mean power of each (0 where it is
    but noise); `used`, the harmonics that the phase stands on; `most`, the largest sample; `two_banks`, whether a
    reed an octave above sounds too.
    """

    def __init__(self, mixer):
        self._mixer = mixer
        self._phases = [array("i", (0 for _ in range(BLOCKS_MAX + 8))) for _ in range(HARMONICS_MAX)]
        self.phase = array("f", (0 for _ in range(BLOCKS_MAX + 8)))
        self.power = array("f", (0 for _ in range(BLOCKS_MAX + 8)))

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
            self.power[i] = 0.0
        harmonics = max(1, min(HARMONICS_MAX, int(TOP_HZ * period / RATE)))
        self.strength = [self._one(k) for k in range(1, harmonics + 1)]
        self._join(harmonics)

    def _one(self, harmonic):
        """Follows one harmonic; adds to `power` and returns its mean power in squared sample counts."""
        phases = self._phases[harmonic - 1]
        scale = self._mixer.follow(harmonic, phases)
        # Magnitude carries 2^scale, CORDIC gain, half the table's 32767 and the triangle's area.
        unit = 2.0**-scale / (1.646760 * 16383.5 * self.length * self.length)
        total = 0.0
        magnitude = self._mixer.magnitude
        for i in range(self.count):
            amplitude = magnitude[i] * unit
            amplitude *= amplitude
            self.power[i] += amplitude
            total += amplitude
        return total / self.count

    def _join(self, harmonics):
        """Weighs the harmonics and joins them; of two reeds an octave apart, keeps the lower one's."""
        weights = []
        faint = FAINT * sum(self.strength)
        for k in range(1, harmonics + 1):
            noise = jitter(self._phases[k - 1], self.count)
            if noise >= JITTER_MOST and self.strength[k - 1] < faint:
                self.strength[k - 1] = 0.0  # noise, not a harmonic
            weights.append(k * k / (noise * noise + JITTER_FLOOR * JITTER_FLOOR) if noise < JITTER_MOST else 0.0)
        self.octave_cents = self._octave(weights)
        if self.octave_cents:
            even = sum(self.strength[1::2])
            self.two_banks = even > BANK_SHARE * sum(self.strength)
            weights = [w if i % 2 == 0 else 0.0 for i, w in enumerate(weights)]
        total = sum(weights)
        self.used = [k for k in range(1, harmonics + 1) if total and weights[k - 1] > 0.001 * total]
        self.sound = total > 0
        for i in range(self.count):
            self.phase[i] = 0.0
        for k in self.used:
            phases = self._phases[k - 1]
            share = weights[k - 1] / total / k / _TURN
            # Points are taken against the middle one: small numbers keep their digits in single precision.
            middle = phases[self.count // 2]
            for i in range(self.count):
                self.phase[i] += share * (phases[i] - middle)

    def _octave(self, weights):
        """Cents by which the even harmonics run away from the odd ones; 0 where one reed makes both.

        Two banks an octave apart share the even harmonics; where they are mistuned, only the odd ones belong to
        the lower reed alone.
        """
        slope, error = [0.0, 0.0], [0.0, 0.0]
        for parity in (0, 1):
            total = sum(weights[parity::2])
            if not total:
                return 0.0
            for i in range(parity, len(weights), 2):
                if weights[i]:
                    rate, noise = self._slope(i)
                    share = weights[i] / total / (i + 1)
                    slope[parity] += share * rate
                    error[parity] += share * share * noise * noise
        apart = slope[1] - slope[0]
        cents = apart / self.step_s / (self.oscillator_uhz / 1e6) * CENTS
        noise = math.sqrt(error[0] + error[1]) / self.step_s / (self.oscillator_uhz / 1e6) * CENTS
        return cents if abs(cents) > OCTAVE_CENTS + OCTAVE_ERRORS * noise else 0.0

    def _slope(self, index):
        """(turns a point, its standard error) of one harmonic over the middle three quarters."""
        phases = self._phases[index]
        low, high = self.count // 8, self.count - self.count // 8
        half = (high - low - 1) / 2
        middle = phases[self.count // 2]
        num = den = 0.0
        for i in range(low, high):
            t = i - low - half
            num += t * (phases[i] - middle)
            den += t * t
        return num / den / _TURN, jitter(phases, self.count) * math.sqrt(1.5 / den)

    def apart(self, harmonic, first, last):
        """RMS in turns by which one harmonic strays from the joined track between points first and last.

        One reed's harmonics move together; where a second reed sounds they beat, each at its own rate.
        """
        phases = self._phases[harmonic - 1]
        middle = phases[(first + last) // 2]
        strays = [(phases[i] - middle) / _TURN - harmonic * self.phase[i] for i in range(first, last)]
        mean = sum(strays) / len(strays)
        return math.sqrt(sum([(s - mean) * (s - mean) for s in strays]) / len(strays))

    def share_beside(self, multiple):
        """Share of the power in harmonics that are not multiples of `multiple`; 1 where none could be."""
        if len(self.strength) < multiple:
            return 1.0
        rest = sum([p for i, p in enumerate(self.strength) if (i + 1) % multiple])
        return rest / max(1e-9, sum(self.strength))
