"""Keys of the desk: pressed at the times that the run's settings say, or by whoever watches."""

import select

from .bench import settings, ticks_ms


class Keys:
    """The settings' `keys` are [ms, key, press] each; a hold at 0 ms is a key that is down at the start.

    Over `keys_fd` they come as lines, "up hold", each when it is pressed.
    """

    def __init__(self):
        presses = [tuple(entry) for entry in settings["keys"]]
        self._held = [key for ms, key, press in presses if ms == 0 and press == "hold"]
        self._coming = sorted(entry for entry in presses if entry[0] > 0 or entry[2] != "hold")
        self._line = b""
        self._poll = select.poll()
        if settings["keys_fd"] is not None:
            self._pipe = open(settings["keys_fd"], "rb")
            self._poll.register(self._pipe, select.POLLIN)

    def held_at_start(self, key):
        return key in self._held

    def down(self):
        """Names of the keys that are down just now: none, here each press is over at once."""
        return []

    def poll(self):
        """(key, press) of each press since the last poll: "up", "down" or "do", and "tap" or "hold"."""
        pressed = []
        while self._coming and self._coming[0][0] <= ticks_ms():
            pressed.append(self._coming.pop(0)[1:])
        # One byte at a time: a file's read() waits until it has all it was asked for.
        while any(events & select.POLLIN for _, events in self._poll.poll(0)):
            self._line += self._pipe.read(1)
            if self._line.endswith(b"\n"):
                pressed.append(tuple(self._line.decode().split()))
                self._line = b""
        return pressed
