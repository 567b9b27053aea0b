"""Microphone words to samples: 24 bits to 16, the microphone's offset removed, level, clipping.

A block is BLOCK samples (16 ms at 16 kHz). Everything later works on its 16-bit samples.
"""

from array import array

from .word import EXTEND

BLOCK = 256
SILENT = -12000  # level of nothing

# Places in the state that `narrow` keeps from block to block.
OFFSET = 0  # the microphone's offset, 24-bit counts times 64
POWER_HIGH = 1  # sum of squares, in units of 2^20
POWER_LOW = 2  # the rest of it
CLIPPED = 3  # samples at the ends of the range


@micropython.viper
def narrow(words: ptr32, count: int, out: ptr16, state: ptr32):
    """Turns `count` microphone words (24 bits, left-justified) into 16-bit samples and fills `state`.

    The offset is followed by a one-pole low-pass of 4096 samples (a corner of 0.6 Hz), which leaves any reed
    untouched. Ranges: |sample| <= 2^23, offset * 64 <= 2^29, their difference <= 2^30; a square is at most
    2^30 and `low` stays below 2^30 before it is added, so nothing exceeds 2^31 - 1.
    """
    extend = int(EXTEND)
    offset = (state[0] << extend) >> extend
    high = 0
    low = 0
    clipped = 0
    i = 0
    while i < count:
        x = ((words[i] << extend) >> extend) >> 8
        if x >= 0x7FFE00 or x <= -0x7FFE00:
            clipped += 1
        offset += ((x << 6) - offset) >> 12
        y = (x - (offset >> 6) + 128) >> 8
        if y > 32767:
            y = 32767
        if y < -32767:
            y = -32767
        out[i] = y
        low += y * y
        if low > 0x3FFFFFFF:
            high += low >> 20
            low = low & 0xFFFFF
        i += 1
    state[0] = offset
    state[1] = high
    state[2] = low
    state[3] = clipped


def new_state():
    """State for `narrow`; one per microphone."""
    return array("i", (0, 0, 0, 0))


def begin(words, state):
    """Starts the offset in `state` at the mean of a first block, or its settling would sound like a tone."""
    state[OFFSET] = (sum([word >> 8 for word in words]) // len(words)) << 6


@micropython.viper
def level(state: ptr32, count: int) -> int:
    """Level of the block that `state` describes, in 1/100 dB from a full-scale square wave (a sine peaks at -301).

    Ten times the logarithm to base 2 of the power, in 1/301.03: whole octaves, then a parabola between them, which is
    within 0.03 dB. A silent block is at SILENT.
    """
    v = state[1]
    octaves = 20
    if v < 1024:
        v = (v << 20) + state[2]
        octaves = 0
    if v == 0:
        return -12000
    while v >= 32768:
        v = v >> 1
        octaves += 1
    while v < 16384:
        v = v << 1
        octaves -= 1
    v -= 16384
    v += ((v * (16384 - v)) >> 14) * 11 >> 5
    power = octaves + 14
    # What a full-scale block of `count` samples would have: 2^30 each.
    while count > 1:
        count = count >> 1
        power -= 1
    return (30103 * (power - 30) + 50) // 100 + ((301 * v) >> 14)


@micropython.viper
def copy(from_samples: ptr16, start: int, to_samples: ptr16, at: int, count: int):
    """Copies samples, first to last."""
    i = 0
    while i < count:
        to_samples[at + i] = from_samples[start + i]
        i += 1
