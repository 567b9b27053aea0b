"""The two innermost loops in viper, for machines that are no board; thumb.py has them for the board's processor."""

from .word import EXTEND, EXTEND16


@micropython.viper
def mix(x: ptr16, plan: ptr32, sine: ptr16, out: ptr32):
    """Per block: sum and ramp-weighted sum (weights length..1) of x cos, then of x sin, into `out`.

    plan: first sample, blocks, samples in a block, oscillator's step (2^30 to the turn), table entries by which each
    block starts after the one before, right shift of the products, entry at which the first block starts. The last is
    then that of the block to follow; the rest is used up.
    """
    extend = int(EXTEND16)
    i = plan[0]
    step = plan[3]
    down = plan[5]
    first = plan[6]
    o = 0
    end = i + plan[1] * plan[2]
    while i < end:
        s1 = 0
        r1 = 0
        s2 = 0
        r2 = 0
        phase = first << 19
        first = (first + plan[4]) & 2047
        stop = i + plan[2]
        while i < stop:
            v = (x[i] << extend) >> extend
            k = phase >> 19
            s2 += (v * ((sine[k] << extend) >> extend)) >> down
            k += 512
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
    plan[6] = first


@micropython.viper
def products(y: ptr32, width: int, lag_max: int, out: ptr32):
    """out[t] = sum of y[j] y[j + t] over j < `width`, which is even, for t = 0 .. lag_max."""
    extend = int(EXTEND)
    t = 0
    while t <= lag_max:
        r = 0
        j = 0
        while j < width:
            r += ((y[j] << extend) >> extend) * ((y[j + t] << extend) >> extend)
            j += 1
        out[t] = r
        t += 1
