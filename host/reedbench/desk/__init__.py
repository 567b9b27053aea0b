"""The desk meter: the meter's own firmware on MicroPython's Unix port, with a player in front of its microphone."""
