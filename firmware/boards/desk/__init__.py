"""The board on a desk: what surrounds the firmware, on MicroPython's Unix port, under any board's names."""
