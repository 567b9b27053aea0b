"""What the parts of the desk share: the settings of this run, and the time.

Time passes only as the player hands over samples, or while flash is written. So whoever plays owns the clock:
a crystal that runs off by some parts per million is a player that samples its sound at that other rate.
"""

import json

RATE = 16000  # samples per second, by the desk's own crystal

_WANTED = ("flash", "port_fd", "player_fd", "keys", "screens", "serial", "unix_s")

settings = {"keys_fd": None, "watched": False, "faults": [], "crystal_ppb": None}
samples = 0  # taken from the player since power-up
lost_ms = 0  # that the microphone stood still since power-up
microphone = None  # microphone.Microphone, through which the player is told
lit = None  # how bright the screen is, 0 to 5
words = None  # what the screen shows
pixels = None  # the same as a frame buffer, where somebody watches


def set_up(text):
    """Takes the settings of this run from JSON; raises ValueError with a sentence about what is wrong."""
    try:
        values = json.loads(text)
    except ValueError:
        raise ValueError("the settings are not JSON")
    for name in _WANTED:
        if not isinstance(values, dict) or name not in values:
            raise ValueError("the settings lack %s" % name)
    settings.update(values)


def ticks_ms():
    """Milliseconds of the desk's own time."""
    return samples * 1000 // RATE + lost_ms
