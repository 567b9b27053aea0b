"""The desk's clock: it counts the samples that the player handed over."""

import time

from . import bench
from .bench import ticks_ms

_ROUND_US = 1 << 30
_set_to = (bench.settings["unix_s"] or None, 0)  # calendar in seconds, at which ticks in milliseconds


def ticks_us():
    """Microseconds, modulo 2^30; where the desk has a crystal, that of this computer's clock and its own error."""
    crystal_ppb = bench.settings["crystal_ppb"]
    if crystal_ppb is None:
        return 1000 * ticks_ms() % _ROUND_US
    us = time.ticks_us()
    return (us + us * crystal_ppb // 1_000_000_000) % _ROUND_US


def up_s():
    """Seconds from power-up."""
    return ticks_ms() // 1000


def unix_s():
    """Seconds since 1970-01-01 UTC; 0 when nobody told."""
    seconds, at_ms = _set_to
    return 0 if seconds is None else seconds + (ticks_ms() - at_ms) // 1000


def set_unix(seconds):
    """Sets the calendar: seconds since 1970-01-01 UTC."""
    global _set_to
    _set_to = (seconds, ticks_ms())
