"""The I2C wires that display and thermometer share."""

from machine import I2C, Pin

from . import pins

_BAUD = 400_000  # the displays' limit: a whole picture takes 25 ms, a page 3
_TIMEOUT_US = 5000  # a part that hangs must not hold up the microphone

wires = I2C(
    pins.DISPLAY_CONTROLLER,
    scl=Pin(pins.DISPLAY_CLOCK),
    sda=Pin(pins.DISPLAY_DATA),
    freq=_BAUD,
    timeout=_TIMEOUT_US,
)
