"""What the meter does when nobody does anything: dims the display and puts it out; and an eye on the cell."""

TICKS = 0x3FFFFFFF  # a board's milliseconds begin anew after this
LOOK_MS = 5000
# Millivolts of the supply behind its diode, 250 below the cell's own (hardware/power.md): a tenth is left; no new take.
LOW_MV, EMPTY_MV = 3250, 3050
NONE_MV = 1800  # below this nothing would run: it is not connected
LOOKS = 3  # in a row, before it is believed


class Watch:
    """`settings`: meter.settings.Settings. `light(level, turned)`: the display's; at level 0 it is out. `cell_mv`: the
    board's.

    cell: "", "low" or "empty".
    """

    def __init__(self, settings, light, cell_mv):
        self._settings = settings
        self._light = light
        self._cell_mv = cell_mv
        self._used_ms = self._looked_ms = 0
        self._below = 0
        self._lit = None
        self.cell = ""

    def used(self, now_ms):
        """Somebody pressed a key or sounded a reed; whether the display had been out."""
        self._used_ms = now_ms
        was_out = self._lit is not None and self._lit[0] == 0
        self.rest(now_ms)
        return was_out

    def rest(self, now_ms):
        """Lights the display as it should be; looks at the cell from time to time."""
        settings = self._settings
        idle_min = ((now_ms - self._used_ms) & TICKS) // 60000
        level = settings.brightness
        if settings.off_min and idle_min >= settings.off_min:
            level = 0
        elif settings.dim_min and idle_min >= settings.dim_min:
            level = 1
        if self._lit != (level, settings.turned):
            self._lit = (level, settings.turned)
            self._light(level, settings.turned)
        if (now_ms - self._looked_ms) & TICKS >= LOOK_MS:
            self._looked_ms = now_ms
            self._look(self._cell_mv())

    def _look(self, mv):
        if mv is None or not NONE_MV < mv < LOW_MV:
            self._below = 0
            self.cell = ""
            return
        self._below += 1
        if self._below >= LOOKS:
            self.cell = "empty" if mv < EMPTY_MV else self.cell or "low"
