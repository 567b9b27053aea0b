"""Phases of a tone's harmonics, block by block, in integer arithmetic.

The samples are cut into blocks of a whole number of periods (about; at least 40 samples, at most about
BLOCKS_MAX blocks). Each block is multiplied by a local oscillator that sits on the sine table's grid, so that
it has no phase error of its own, and summed; two neighbouring blocks joined under a triangular weight then
suppress the other harmonics and hum. A CORDIC turns each sum into an angle and a magnitude.
"""

import math
from array import array

from .coarse import bits
from .coherent import MEAN_LEAST, project, turn_back
from .tables import ANGLE_BITS, ATAN, SINE, TURN
from .word import EXTEND, EXTEND16

try:
    from .thumb import mix
except SyntaxError:  # no Thumb processor
    from .plain import mix

BLOCKS_MAX = 96
BLOCK_LEAST = 40  # samples
POINTS_MOST = BLOCKS_MAX + 8
MIXER_NEEDED = 10 * POINTS_MOST
TURN_BITS = 22  # unwrapped phases: 2^22 to the turn


@micropython.viper
def _largest(x: ptr16, start: int, count: int) -> int:
    extend = int(EXTEND16)
    most = 0
    i = start
    end = start + count
    while i < end:
        v = (x[i] << extend) >> extend
        if v < 0:
            v = 0 - v
        if v > most:
            most = v
        i += 1
    return most


@micropython.viper
def triangle(sums: ptr32, blocks: int, length: int, floor: int, re: ptr32, im: ptr32) -> int:
    """Joins neighbouring blocks under a triangle; returns the largest magnitude of either part.

    `floor` makes up for the rounding down of every product in `mix`.
    """
    extend = int(EXTEND)
    most = 0
    i = 0
    o = 0
    while i < blocks - 1:
        s1 = (sums[o] << extend) >> extend
        r1 = (sums[o + 1] << extend) >> extend
        s2 = (sums[o + 2] << extend) >> extend
        r2 = (sums[o + 3] << extend) >> extend
        a = (s1 * length - r1) + ((sums[o + 5] << extend) >> extend) + floor
        b = 0 - ((s2 * length - r2) + ((sums[o + 7] << extend) >> extend) + floor)
        re[i] = a
        im[i] = b
        if a < 0:
            a = 0 - a
        if b < 0:
            b = 0 - b
        if a > most:
            most = a
        if b > most:
            most = b
        i += 1
        o += 4
    return most


@micropython.viper
def _cordic(re: ptr32, im: ptr32, count: int, up: int, atan: ptr32):
    """In place: re becomes the angle (2^28 to the turn), im the magnitude times 2^up and 1.64676.

    `up` brings the largest part to 27 bits; the magnitude is then below 2^28 * sqrt(2) * 1.65 < 2^30.
    """
    extend = int(EXTEND)
    j = 0
    while j < count:
        a = (re[j] << extend) >> extend
        b = (im[j] << extend) >> extend
        if up >= 0:
            a = a << up
            b = b << up
        else:
            a = a >> (0 - up)
            b = b >> (0 - up)
        angle = 0
        if a < 0:
            a = 0 - a
            b = 0 - b
            angle = 0x8000000
        i = 0
        while i < 16:
            if b >= 0:
                c = a + (b >> i)
                b = b - (a >> i)
                angle = angle + ((atan[i] << extend) >> extend)
            else:
                c = a - (b >> i)
                b = b + (a >> i)
                angle = angle - ((atan[i] << extend) >> extend)
            a = c
            i += 1
        re[j] = angle & 0xFFFFFFF
        im[j] = a
        j += 1


@micropython.viper
def _unwrap(angles: ptr32, count: int, guide: ptr32, harmonic: int, out: ptr32):
    """Running phase from angles, 2^22 to the turn.

    The turns between two points are those nearest to what `guide`, the fundamental's phase so far (2^24 to the turn),
    tells of them, smoothed over three steps and held to one turn: a bend of the pitch may turn a high harmonic by more
    than half a turn a block. So a step is at most one turn and a half, and all 104 stay below 2^30.
    """
    extend = int(EXTEND)
    total = 0
    rest = 0
    before = angles[0]
    i = 0
    while i < count:
        low = i - 2
        if low < 0:
            low = 0
        high = i + 1
        if high >= count:
            high = count - 1
        turn = (((guide[high] << extend) >> extend) - ((guide[low] << extend) >> extend)) // (high - low) * harmonic
        if turn > 0x1000000:
            turn = 0x1000000
        if turn < -0x1000000:
            turn = -0x1000000
        if i == 0:
            turn = 0
        turn = turn << 4
        a = angles[i]
        rest += turn + ((((a - before - turn) + 0x8000000) & 0xFFFFFFF) - 0x8000000)
        before = a
        total += rest >> 6
        rest = rest & 63
        out[i] = total
        i += 1


def headroom(length, most):
    """Right shift of the products in `mix`: ceil(2 log2 length) bits for the ramp sum, less what is free."""
    need = 0
    while (1 << need) < length * length:
        need += 1
    return max(0, need - max(0, 15 - bits(most)))


def block_length(period, count):
    """Samples in a block for `period` (samples, float) and `count` samples of tone: whole periods, or nearly."""
    least = max(BLOCK_LEAST, count // BLOCKS_MAX)
    if period >= least:
        return int(period + 0.5)
    best, worst = 0, 2.0
    times = 1
    while times * period <= least + max(period, least / 3):
        length = int(times * period + 0.5)
        if length >= least:
            error = abs(times * period - length) / times
            if error < worst:
                best, worst = length, error
        times += 1
    return best


class Mixer:
    """Mixing, with `scratch`: array("i") of at least MIXER_NEEDED places, the first 4 POINTS_MOST free after `follow`.

    `phases`, `mean` and the two `lows` are room of POINTS_MOST points for whoever uses this, in `scratch` as well.
    After `cut`: length and blocks, `count` phase points, `start` of the first block, `turn` of the oscillator,
    `most`, the largest sample.
    """

    def __init__(self, scratch):
        self._plan = array("i", (0 for _ in range(7)))
        self._sums = scratch
        whole = memoryview(scratch)
        parts = [whole[i * POINTS_MOST : (i + 1) * POINTS_MOST] for i in range(4, 10)]
        self.angles, self.magnitude, self.phases, self.mean = parts[:4]
        self.lows = parts[4:]

    def cut(self, samples, start, count, period):
        """Chooses blocks and oscillator for `count` samples from `start` on with this period."""
        self.samples = samples
        self.length = block_length(period, count)
        self.blocks = count // self.length
        self.count = self.blocks - 1
        self.start = start + (count - self.blocks * self.length) // 2
        # Turns of the fundamental per block, in 1/TURN: the oscillator's frequency is turn * RATE / (TURN * length).
        self.turn = int(TURN * self.length / period + 0.5)
        self.most = _largest(samples, start, count)
        self._down = headroom(self.length, self.most)

    def follow(self, harmonic, guide, phases):
        """Fills `phases` (array('i'), 2^22 to the turn) with one harmonic's phase against its oscillator.

        `guide`: the fundamental's phase as far as it is known (array('i'), 2^24 to the turn).

        `magnitude` then holds the amplitudes, in units of 2^-scale sample counts; returns that scale.
        """
        turn = self.turn * harmonic
        step = (((turn << 20) // self.length + 1) >> 1) & 0x3FFFFFFF
        plan = self._plan
        plan[0], plan[1], plan[2], plan[3] = self.start, self.blocks, self.length, step
        plan[4], plan[5], plan[6] = turn & (TURN - 1), self._down, 0
        mix(self.samples, plan, SINE, self._sums)
        floor = (self.length * self.length) >> 1 if self._down else 0
        most = triangle(self._sums, self.blocks, self.length, floor, self.angles, self.magnitude)
        up = 27 - bits(most)
        _cordic(self.angles, self.magnitude, self.count, up, ATAN)
        _unwrap(self.angles, self.count, guide, harmonic, phases)
        return up - self._down

    def look_again(self, harmonic, guide, phases):
        """The same harmonic against `guide` alone, each point by itself: no turns to be counted wrongly.

        `phases`: what it is off `harmonic` times the guide, its mean removed. False where there is nothing to be seen.
        """
        plan = self._plan
        turn_back(self.angles, self.magnitude, self.count, guide, harmonic, SINE, plan)
        along, across = plan[0], plan[1]
        plan[0] = self.count
        plan[1] = int(math.atan2(across, along) / (2 * math.pi) * (1 << ANGLE_BITS)) & ((1 << ANGLE_BITS) - 1)
        plan[2] = int(math.sqrt(float(along) * along + float(across) * across) / self.count / 16)
        if plan[2] < MEAN_LEAST:
            return False
        project(self.angles, self.magnitude, plan, SINE, phases)
        return True
