"""The second look at a harmonic that is too weak to be followed from point to point.

What the stronger harmonics have told of the phase is turned back out of it. What is left of a reed's harmonic stands
still, so that its points add up however deep each lies in noise; against the direction of their sum the part of a point
across it tells the phase.
"""

from .word import EXTEND, EXTEND16

MEAN_LEAST = 64  # in `project`: a sum this small is of nothing


@micropython.viper
def turn_back(angles: ptr32, magnitude: ptr32, count: int, guide: ptr32, harmonic: int, sine: ptr16, sums: ptr32):
    """Takes `harmonic` times `guide` (2^24 to the turn) from the angles (2^28); `sums`: of cosines and sines, over 256.

    Magnitudes are below 2^30, `harmonic` below 2^7: products stay below 2^31, sums of 104 below 2^29.
    """
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    along = 0
    across = 0
    i = 0
    while i < count:
        angle = (angles[i] - (((guide[i] & 0xFFFFFF) * harmonic & 0xFFFFFF) << 4)) & 0xFFFFFFF
        angles[i] = angle
        size = ((magnitude[i] << extend) >> extend) >> 15
        k = angle >> 17
        across += (size * ((sine[k] << extend16) >> extend16)) >> 8
        along += (size * ((sine[k + 512] << extend16) >> extend16)) >> 8
        i += 1
    sums[0] = along
    sums[1] = across


@micropython.viper
def project(angles: ptr32, magnitude: ptr32, plan: ptr32, sine: ptr16, across: ptr32):
    """Each point's part across the direction of the sum, against its mean part along it.

    plan: points, direction (2^28 to the turn), that mean in units of 2^12. One comes out as 2^22 / 2 pi, so that small
    parts are phases, 2^22 to the turn; more than eight are held to eight.
    """
    extend = int(EXTEND)
    extend16 = int(EXTEND16)
    i = 0
    while i < plan[0]:
        k = ((angles[i] - plan[1]) & 0xFFFFFFF) >> 17
        size = ((magnitude[i] << extend) >> extend) >> 15
        part = size * ((sine[k] << extend16) >> extend16) // plan[2]
        if part > 32767:
            part = 32767
        if part < -32767:
            part = -32767
        across[i] = part * 163
        i += 1
