"""Phases of a tone's harmonics, block by block, in integer arithmetic.

The samples are cut into blocks of a whole number of periods (about; at least 40 samples, at most about
BLOCKS_MAX blocks). Each block is multiplied by a local oscillator that sits on the sine table's grid, so that
it has no phase error of its own, and summed; two neighbouring blocks joined under a triangular weight then
suppress the other harmonics and hum. A CORDIC turns each sum into an angle and a magnitude.
"""

from array import array

from .coarse import bits
from .tables import ATAN, SINE
from .word import EXTEND, EXTEND16

BLOCKS_MAX = 96
BLOCK_LEAST = 40  # samples
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
def _mix(x: ptr16, start: int, blocks: int, length: int, step: int, turn: int, down: int, sine: ptr16, out: ptr32):
    """Per block: sum and ramp-weighted sum (weights length..1) of x sin and x cos.

    Each block starts `turn` table entries after the one before. `down` is chosen by `_headroom` so that the
    ramp sum, length^2 / 2 times the largest product, stays below 2^31.
    """
    extend = int(EXTEND16)
    first = 0
    i = start
    o = 0
    end = start + blocks * length
    while i < end:
        s1 = 0
        r1 = 0
        s2 = 0
        r2 = 0
        phase = first << 18
        first = (first + turn) & 4095
        stop = i + length
        while i < stop:
            v = (x[i] << extend) >> extend
            k = phase >> 18
            s2 += (v * ((sine[k] << extend) >> extend)) >> down
            k += 1024
            s1 += (v * ((sine[k] << extend) >> extend)) >> down
            r1 += s1
            r2 += s2
            phase = (phase + step) & 0x3FFFFFFF
            i += 1
        out[o] = s1
        out[o + 1] = r1
        out[o + 2] = s2
        out[o + 3] = r2
        o += 4


@micropython.viper
def _triangle(sums: ptr32, blocks: int, length: int, floor: int, re: ptr32, im: ptr32) -> int:
    """Joins neighbouring blocks under a triangle; returns the largest magnitude of either part.

    `floor` makes up for the rounding down of every product in `_mix`.
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
        while i < 20:
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
def _unwrap(angles: ptr32, count: int, out: ptr32):
    """Running phase from angles, 2^22 to the turn.

    Half a turn a block at most, so fewer than 52 turns in all: the sum, 2^25 to the turn, stays below 2^31.
    """
    total = 0
    before = angles[0]
    i = 0
    while i < count:
        a = angles[i]
        total += ((((a - before) + 0x8000000) & 0xFFFFFFF) - 0x8000000) >> 3
        before = a
        out[i] = total >> 3
        i += 1


def _headroom(length, most):
    """Right shift of the products in `_mix`: ceil(2 log2 length) bits for the ramp sum, less what is free."""
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
    while times * period <= 2.5 * least:
        length = int(times * period + 0.5)
        if length >= least:
            error = abs(times * period - length) / times
            if error < worst:
                best, worst = length, error
        times += 1
    return best


class Mixer:
    """Working memory of the mixing (4 kB).

    After `cut`: length and blocks, `count` phase points, `start` of the first block, `turn` of the oscillator,
    `most`, the largest sample.
    """

    def __init__(self):
        self._sums = array("i", (0 for _ in range(4 * (BLOCKS_MAX + 8))))
        self._re = array("i", (0 for _ in range(BLOCKS_MAX + 8)))
        self.magnitude = array("i", (0 for _ in range(BLOCKS_MAX + 8)))

    def cut(self, samples, start, count, period):
        """Chooses blocks and oscillator for `count` samples from `start` on with this period."""
        self.samples = samples
        self.length = block_length(period, count)
        self.blocks = count // self.length
        self.count = self.blocks - 1
        self.start = start + (count - self.blocks * self.length) // 2
        # Turns of the fundamental per block, in 1/4096: the oscillator's frequency is turn * RATE / (4096 * length).
        self.turn = int(4096 * self.length / period + 0.5)
        self.most = _largest(samples, start, count)
        self._down = _headroom(self.length, self.most)

    def follow(self, harmonic, phases):
        """Fills `phases` (array('i'), 2^22 to the turn) with one harmonic's phase against its oscillator.

        `magnitude` then holds the amplitudes, in units of 2^-scale sample counts; returns that scale.
        """
        turn = self.turn * harmonic
        step = (((turn << 19) // self.length + 1) >> 1) & 0x3FFFFFFF
        _mix(
            self.samples,
            self.start,
            self.blocks,
            self.length,
            step,
            turn & 4095,
            self._down,
            SINE,
            self._sums,
        )
        floor = (self.length * self.length) >> 1 if self._down else 0
        most = _triangle(self._sums, self.blocks, self.length, floor, self._re, self.magnitude)
        up = 27 - bits(most)
        _cordic(self._re, self.magnitude, self.count, up, ATAN)
        _unwrap(self._re, self.count, phases)
        return up - self._down
