"""The desk's power: always on, until the player pulls the plug."""

import os
import struct
import sys
import time

from . import bench
from .bench import settings

NAME = "desk"


def serial():
    """Serial number that the desk's settings give this meter."""
    return settings["serial"]


def cell_mv():
    """Voltage of the cell in millivolts: None, there is no cell."""


def rest(ms):
    """Does nothing for so long, by this computer's clock too."""
    time.sleep_ms(ms)
    bench.microphone.rest(ms)


def temperature_dc():
    """Temperature of the board in tenths of a degree Celsius: None, there is no sensor."""


def leave():
    """Ends the firmware."""
    sys.exit()


def entropy():
    """32 random bits."""
    return struct.unpack("I", os.urandom(4))[0]
