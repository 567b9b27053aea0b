"""What the meter does when nobody does anything: dims the display, puts it out, sleeps; and an eye on the cell."""

TICKS = 0x3FFFFFFF  # a board's milliseconds begin anew after this
LOOK_MS = 5000
# Millivolts of the supply behind its diode, 250 below the cell's own (hardware/power.md): a tenth is left; no new take.
LOW_MV, EMPTY_MV = 3250, 3050
NONE_MV = 1800  # below this nothing would run: it is not connected
LOOKS = 3  # in a row, before it is believed
EMPTY_MIN = 1  # until it sleeps with an empty cell, whatever is set


class Watch:
    """`settings`: meter.settings.Settings. `light(level, turned)`: the display's; at level 0 it is out. `cell_mv`: the
    board's.

    cell: "", "low" or "empty".
    """

    def __init__(self, settings, light, cell_mv):
        self._settings = settings
        self._light = light
        self._cell_mv = cell_mv
        self._used_ms = self._looked_ms = self._wanted_ms = 0
        self._below = 0
        self._lit = None
        self.cell = ""

    def used(self, now_ms):
        """Somebody pressed a key or sounded a reed; whether the display had been out."""
        self._used_ms = now_ms
        was_out = self._lit is not None and self._lit[0] == 0
        self.rest(now_ms, True)
        return was_out

    def rest(self, now_ms, wanted=False):
        """Lights the display as it should be; looks at the cell from time to time; whether it is time to sleep.

        wanted: there is a reason to be awake, but perhaps none to light the display: a host.
        """
        settings = self._settings
        idle_min = ((now_ms - self._used_ms) & TICKS) // 60000
        level = settings.brightness
        if settings.off_min and idle_min >= settings.off_min:
            level = 0
        elif settings.dim_min and idle_min >= settings.dim_min:
            level = 1
        self.put(level)
        if (now_ms - self._looked_ms) & TICKS >= LOOK_MS:
            self._looked_ms = now_ms
            self._look(self._cell_mv())
        if wanted:
            self._wanted_ms = now_ms
        limit = EMPTY_MIN if self.cell == "empty" else settings.sleep_min
        return limit and ((now_ms - self._wanted_ms) & TICKS) // 60000 >= limit

    def put(self, level):
        """Lights the display so, 0 puts it out, until it is used or rests again."""
        if self._lit != (level, self._settings.turned):
            self._lit = (level, self._settings.turned)
            self._light(*self._lit)

    def _look(self, mv):
        if mv is None or not NONE_MV < mv < LOW_MV:
            self._below = 0
            self.cell = ""
            return
        self._below += 1
        if self._below >= LOOKS:
            self.cell = "empty" if mv < EMPTY_MV else self.cell or "low"
