"""Keys of the desk: pressed at the times that the run's settings say."""

from .bench import settings, ticks_ms


class Keys:
    """The settings' `keys` are [ms, key, press] each; a hold at 0 ms is a key that is down at the start."""

    def __init__(self):
        presses = [tuple(entry) for entry in settings["keys"]]
        self._held = [key for ms, key, press in presses if ms == 0 and press == "hold"]
        self._coming = sorted(entry for entry in presses if entry[0] > 0 or entry[2] != "hold")

    def held_at_start(self, key):
        return key in self._held

    def poll(self):
        """(key, press) of each press since the last poll: "up", "down" or "do", and "tap" or "hold"."""
        pressed = []
        while self._coming and self._coming[0][0] <= ticks_ms():
            pressed.append(self._coming.pop(0)[1:])
        return pressed
