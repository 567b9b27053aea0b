"""Sine and arc tangent tables of the phase measurement, made once at start."""

import math
from array import array

TURN = 2048  # entries of one turn of the sine table
QUARTER = TURN // 4
ANGLE_BITS = 28  # angles: 2^28 to the turn
CORDIC_STEPS = 16  # to a millionth of a turn

# A quarter more than a turn, so that the cosine is the sine QUARTER entries on, without a mask.
SINE = array("h", (0 for _ in range(TURN + QUARTER)))
for _i in range(TURN + QUARTER):
    SINE[_i] = math.floor(32767 * math.sin(2 * math.pi * (_i % TURN) / TURN) + 0.5)

ATAN = array(
    "i",
    (int(math.atan(1 / (1 << _i)) / (2 * math.pi) * (1 << ANGLE_BITS) + 0.5) for _i in range(CORDIC_STEPS)),
)
