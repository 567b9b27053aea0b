"""What the meter can be doing: a mode. One is in memory at a time, loaded when it is entered.

A mode is two files of one name: meter/NAME.py is what it does, a class Mode; screens/NAME.py is what it shows, a
function view(mode). It hears every tone, is told every key but the one that leads to the menu (do, held), and says
where to go next by the name of another mode.
"""


class Mode:
    """The interface, and what a mode does that has nothing of its own to do.

    `meter`: what has the parts (main.Meter): ear, files, journal, shelf, scribe, settings. `phase`: the listener's, as
    the screen is to show it; `hint`: what is wrong with the sound (listen.Listener.hint).
    """

    listens = True  # whether a missing microphone is its trouble

    phase = "wait"
    hint = ""

    def __init__(self, meter):
        self.meter = meter

    def expected_hz(self):
        """Pitch in hertz of the reed that should sound; 0 where any may."""
        return 0.0

    def both(self):
        """Whether two reeds are to sound together."""
        return False

    def follow(self, now_ms):
        """A block has come in; whether the screen may have changed by it."""
        return False

    def heard(self, tone, now_ms):
        """A tone (pitch.Tone) is complete; whether it was saved. Raises WireError where it could not be."""
        return False

    def rest(self, now_ms):
        """Nothing sounds. Raises WireError where something cannot be saved."""

    def press(self, key, press, now_ms):
        """A key, "tap" or "hold"; name of the mode that it leads to, or "". Raises WireError likewise."""
        return ""

    def leave(self):
        """Another mode is about to be entered. Raises WireError likewise."""

    def activity(self):
        """(what the host is told that the meter is doing, reeds done, reeds there are)."""
        return "idle", 0, len(self.meter.shelf.current or ())
