"""The innermost loops in viper, for machines that are no board; thumb.py has them for the board's processor."""

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


@micropython.viper
def crossings(x: ptr16, plan: ptr32, out: ptr32):
    """Band-passes samples and notes when they cross zero upwards; out[most] becomes how many times there are.

    plan: first sample, end, the first that counts, which of the crossings after it are noted (each one, each second
    ...), the most, 1 + left shift of the samples, the sections' coefficients b0, a1, a2 (1/8192), 0. Times are in
    1/1024 sample from the first.

    Values stay below 2^16 (input below 2^14 after the shift, peak gain of a section 1, transients below 2), the
    coefficients below 2^14.1: products below 2^30.1, sums of three below 2^31. What a section's output loses to its
    right shift is added in again with the next.
    """
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    start = plan[0]
    end = plan[1]
    quiet = plan[2]
    every = plan[3]
    most = plan[4]
    up = plan[5]
    b0 = (plan[6] << extend) >> extend
    a1 = (plan[7] << extend) >> extend
    a2 = (plan[8] << extend) >> extend
    x1 = 0
    x2 = 0
    y1 = 0
    y2 = 0
    z1 = 0
    z2 = 0
    e = 0
    f = 0
    count = 0
    seen = 0
    i = start
    while i < end:
        x0 = (((x[i] << extend16) >> extend16) << up) >> 1
        acc = b0 * (x0 - x2) - a1 * y1 - a2 * y2 + e
        y0 = acc >> 13
        e = acc & 8191
        x2 = x1
        x1 = x0
        acc = b0 * (y0 - y2) - a1 * z1 - a2 * z2 + f
        z0 = acc >> 13
        f = acc & 8191
        y2 = y1
        y1 = y0
        if z1 < 0:
            if z0 >= 0:
                if i >= quiet:
                    if seen == 0:
                        if count < most:
                            out[count] = ((i - start - 1) << 10) + ((0 - z1) << 10) // (z0 - z1)
                            count += 1
                        seen = every
                    seen -= 1
        z2 = z1
        z1 = z0
        i += 1
    out[most] = count
