"""The opening page: what is to be done?

up, down: another line    do: that
"""

from . import mode

ENTRIES = ("surveying", "bench", "check", "hearing", "setup")


class Mode(mode.Mode):
    """`chosen`: place in `entries`. `name`: of the instrument in the meter, or ""."""

    listens = False
    entries = ENTRIES

    def __init__(self, meter):
        self.meter = meter
        self.chosen = ENTRIES.index(meter.last) if meter.last in ENTRIES else 0
        self.name = meter.shelf.current.name if meter.shelf.current else ""

    def press(self, key, press, now_ms):
        if key == "do":
            return ENTRIES[self.chosen]
        self.chosen = (self.chosen + (1 if key == "down" else -1)) % len(ENTRIES)
        return ""
