"""Time: a running count of milliseconds, and the calendar once the host has told it."""

import time

_began_s = time.time()
_offset = None  # seconds from the port's own clock, which starts anywhere, to the calendar


def ticks_ms():
    """Milliseconds, running from power-up; wraps at 2^30. For differences use time.ticks_diff."""
    return time.ticks_ms()


def ticks_us():
    """Microseconds, running from power-up; wraps at 2^30. From the crystal that the microphone's clock comes from."""
    return time.ticks_us()


def up_s():
    """Seconds from power-up, which nothing sets and which do not wrap."""
    return time.time() - _began_s


def unix_s():
    """Seconds since 1970-01-01 UTC; 0 when nobody told."""
    return 0 if _offset is None else time.time() + _offset


def set_unix(seconds):
    """Sets the calendar: seconds since 1970-01-01 UTC."""
    global _offset
    _offset = seconds - time.time()
