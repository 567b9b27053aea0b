"""Three harmonics of a tone as complex points: what is kept of a tone in which two reeds sound.

The tone may go on for seconds, much longer than its samples could be kept: it is cut into blocks as it comes in, each
nearly a whole number of periods, and every harmonic is mixed down and joined under triangles as for the pitch
(mixing.py). When the points are full, three neighbours become one, a quarter, a half and a quarter, which is exactly
the triangle of twice the length: so there are always about 50 to 95, however long it sounds.
"""

from array import array

from .blocks import copy
from .coarse import RATE, bits
from .mixing import BLOCK_LEAST, headroom, triangle
from .tables import SINE, TURN
from .word import EXTEND, EXTEND16

try:
    from .thumb import mix
except SyntaxError:  # no Thumb processor
    from .plain import mix

HARMONICS = 3
BLOCKS = 96  # when there are so many, they are joined two by two
PERIODS_MOST = 12  # in a block: two reeds 30 cents apart differ by less than half a turn from point to point
SLOW = 8  # points that turn by less than 1/SLOW radian from one to the next may be joined all the same
BATCH = 24  # blocks mixed at once
SUMS = 4 * (BATCH + 1)  # places in the scratch memory before the samples that wait
POINT_BITS = 14  # a harmonic of the largest sample's height would give points of so many bits


@micropython.viper
def _keep(re: ptr32, im: ptr32, count: int, plan: ptr32, points: ptr16, at: int):
    """points[at ...] = re, im: >> plan0, times plan1, >> plan2; held to 16 bits."""
    extend = int(EXTEND)
    i = 0
    while i < count:
        a = ((((re[i] << extend) >> extend) >> plan[0]) * plan[1]) >> plan[2]
        b = ((((im[i] << extend) >> extend) >> plan[0]) * plan[1]) >> plan[2]
        if a > 32767:
            a = 32767
        if a < -32767:
            a = -32767
        if b > 32767:
            b = 32767
        if b < -32767:
            b = -32767
        points[2 * (at + i)] = a
        points[2 * (at + i) + 1] = b
        i += 1


@micropython.viper
def _halve(points: ptr16, count: int):
    """Makes (count - 1) / 2 points of `count`, which is odd."""
    extend = int(EXTEND16)
    i = 0
    while i < count - 1:  # re and im alike: two numbers a point, four for a new one
        j = 2 * i - (i & 1)
        a = (points[j] << extend) >> extend
        b = (points[j + 2] << extend) >> extend
        c = (points[j + 4] << extend) >> extend
        points[i] = (a + b + b + c + 2) >> 2
        i += 1


class Baseband:
    """`scratch`: array("i") that others may use too, but not between `begin` and the last `feed`.

    After `begin`: `length` of a block in samples, in which the oscillator of harmonic 1 makes `turn` / TURN turns; the
    `harmonics`. As blocks come in: `count` points, `points[h]` of each harmonic (array("h"), real and imaginary parts
    in turn); `full` where a longer tone would tell no more.
    """

    def __init__(self, scratch):
        self._re, self._im = [array("i", (0 for _ in range(BATCH))) for _ in range(2)]
        self._scratch = scratch
        self._fresh = memoryview(scratch)[4:]
        self._room = 2 * (len(scratch) - SUMS)
        self._plan = array("i", (0 for _ in range(7)))
        self._scale = array("i", (0 for _ in range(3)))
        self._before = [array("i", (0 for _ in range(4))) for _ in range(HARMONICS)]  # sums of the block before
        self.points = [array("h", (0 for _ in range(2 * BLOCKS))) for _ in range(HARMONICS)]
        self.blocks = 0

    @property
    def count(self):
        return max(0, self.blocks - 1)

    @property
    def oscillator_hz(self):
        return self.turn * RATE / (TURN * self.length)

    @property
    def step_s(self):
        return self.length / RATE

    @property
    def span_s(self):
        return max(0, self.blocks - 2) * self.length / RATE

    def begin(self, hz, harmonics, most):
        """Gets ready for a tone of about `hz`, of which `most` is the largest sample so far."""
        period = RATE / hz
        least = int(BLOCK_LEAST / period) + 1
        periods = min(range(least, least + 3), key=lambda n: abs(n * period - int(n * period + 0.5)) / n)
        self.length = int(periods * period + 0.5)
        self.turn = int(TURN * self.length / period + 0.5)
        self._first = [0] * HARMONICS  # entry of the table with which each oscillator goes on
        self.harmonics = harmonics
        self.blocks = 0
        self.full = False
        self._most = min(32767, 2 * most)  # two reeds may yet come to add up
        self._waiting = 0
        self._fit_scale()

    def feed(self, samples, start, count):
        """Takes `count` samples from `start` on."""
        while count and not self.full:
            part = min(count, self._room - self._waiting)
            copy(samples, start, self._scratch, 2 * SUMS + self._waiting, part)
            self._waiting += part
            start += part
            count -= part
            self._take()

    def drop(self, samples):
        """Leaves out the points of that many last samples: the reeds were let go."""
        self.blocks = max(0, self.blocks - samples // self.length - 1)

    def _take(self):
        """Mixes the whole blocks that wait."""
        done = 0
        while not self.full:
            blocks = min((self._waiting - done) // self.length, BATCH, BLOCKS - self.blocks)
            if not blocks:
                break
            start, done = done, done + blocks * self.length
            self._mix(2 * SUMS + start, blocks)
        self._waiting -= done
        copy(self._scratch, 2 * SUMS + done, self._scratch, 2 * SUMS, self._waiting)

    def _mix(self, start, blocks):
        joins = (
            self.blocks + blocks == BLOCKS
            and 2 * self.length <= self._room - 512
            and (2 * self.turn <= (PERIODS_MOST + 1) * TURN or self._slow())
        )
        plan, length, sums = self._plan, self.length, self._scratch
        floor = (length * length) >> 1 if self._down else 0
        for h in range(len(self.harmonics)):
            turn = self.harmonics[h] * self.turn
            plan[0], plan[1], plan[2] = start, blocks, length
            plan[3] = (((turn << 20) // length + 1) >> 1) & 0x3FFFFFFF
            plan[4], plan[5], plan[6] = turn & (TURN - 1), self._down, self._first[h]
            mix(sums, plan, SINE, self._fresh)
            self._first[h] = plan[6] & (TURN - 1)
            before = self._before[h]
            for i in range(4):
                sums[i] = before[i]
            if self.blocks:
                triangle(sums, blocks + 1, length, floor, self._re, self._im)
                _keep(self._re, self._im, blocks, self._scale, self.points[h], self.blocks - 1)
            else:
                triangle(self._fresh, blocks, length, floor, self._re, self._im)
                _keep(self._re, self._im, blocks - 1, self._scale, self.points[h], 0)
            last = 4 * blocks
            for i in range(4):
                before[i] = sums[last + i]
            if joins:
                self._join(h, last)
        self.blocks += blocks
        if joins:
            self.blocks //= 2
            self.turn *= 2
            self.length *= 2
            self._fit_scale()
        elif self.blocks == BLOCKS:
            self.full = True

    def _slow(self):
        """Whether no harmonic turns or beats so fast that half as many points would lose it."""
        for h in range(len(self.harmonics)):
            points = self.points[h]
            change = whole = 0
            for i in range(2 * self.count - 2):
                change += abs(points[i + 2] - points[i])
                whole += abs(points[i])
            if SLOW * change > whole:
                return False
        return True

    def _join(self, h, last):
        """Joins the points of a harmonic, and its last two blocks to one."""
        sums, before = self._scratch, self._before[h]
        _halve(self.points[h], BLOCKS - 1)
        less = headroom(2 * self.length, self._most) - self._down
        for i in (0, 2):
            total, ramp = sums[last - 4 + i], sums[last - 3 + i]
            before[i], before[i + 1] = (total + before[i]) >> less, (ramp + total * self.length + before[i + 1]) >> less

    def _fit_scale(self):
        """Points are of POINT_BITS where a harmonic is as high as the largest sample can be."""
        self._down = headroom(self.length, self._most)
        highest = self.length * self.length * self._most * 16384 >> self._down
        self._scale[0] = max(0, bits(highest) - 15)
        one = highest >> self._scale[0]
        up = 14
        self._scale[1] = ((1 << POINT_BITS) << up) // one
        self._scale[2] = up
