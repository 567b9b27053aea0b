"""The desk's clock: it counts the samples that the player handed over."""

from . import bench
from .bench import ticks_ms

_set_to = (bench.settings["unix_s"] or None, 0)  # calendar in seconds, at which ticks in milliseconds


def unix_s():
    """Seconds since 1970-01-01 UTC; 0 when nobody told."""
    seconds, at_ms = _set_to
    return 0 if seconds is None else seconds + (ticks_ms() - at_ms) // 1000


def set_unix(seconds):
    """Sets the calendar: seconds since 1970-01-01 UTC."""
    global _set_to
    _set_to = (seconds, ticks_ms())
