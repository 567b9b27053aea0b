"""What the microphone's line carries in its left and right slot. On the board, with the firmware's files:

mpremote run hardware/on_board/slots.py

`level`: dB from a full-scale square wave, as everywhere in the firmware; `mean`: the offset, of a full scale of 1.
"""

# ruff: noqa: I001
import main  # noqa: F401 - it knows where the firmware lies
import math
from array import array

from board import pins
from machine import I2S, Pin

RATE = 16000
PAIRS = 400  # left and right, in one piece

line = I2S(
    0,
    sck=Pin(pins.MICROPHONE_CLOCK),
    ws=Pin(pins.MICROPHONE_SELECT),
    sd=Pin(pins.MICROPHONE_DATA),
    mode=I2S.RX,
    bits=32,
    format=I2S.STEREO,
    rate=RATE,
    ibuf=16000,
)
words = array("i", (0 for _ in range(2 * PAIRS)))
for _ in range(RATE // PAIRS):  # a second in which the microphone wakes up
    line.readinto(words)
for slot, name in enumerate(("left", "right")):
    total = squares = 0.0
    for _ in range(10):
        line.readinto(words)
        for at in range(slot, 2 * PAIRS, 2):
            value = words[at] / 2147483648
            total += value
            squares += value * value
    mean = total / (10 * PAIRS)
    power = squares / (10 * PAIRS) - mean * mean
    level = 10 * math.log10(max(power, 1e-15))
    remark = "" if level > -120 else "   nothing there"
    print(f"{name:5} level {level:6.1f} dB, mean {mean:8.5f}{remark}")
line.deinit()
