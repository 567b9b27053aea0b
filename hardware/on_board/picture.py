"""What answers on the display's wires, and a picture to look at. On the board, with the firmware's files:

mpremote run hardware/on_board/picture.py

A frame of one dot along all four edges and a line from corner to corner for five seconds, then every dot lit for five:
measure the current then.
"""

# ruff: noqa: I001
import main  # noqa: F401 - it knows where the firmware lies
import time

from board import bus, pins, screen

print("addresses", [hex(address) for address in bus.wires.scan()], "chip", pins.DISPLAY_CHIP)


class Drawn:
    """Draws in place of the firmware's screens."""

    def paint(self, view, canvas):
        canvas.fill(view == "lit")
        canvas.rect(0, 0, 128, 64, 1)
        canvas.line(0, 0, 127, 63, 1)


screen.draw = Drawn()
display = screen.Screen()
for view in ("frame", "lit"):
    before = time.ticks_us()
    display.show(view)
    took = time.ticks_diff(time.ticks_us(), before)
    print(view, display.missing or f"sent in {took // 1000} ms")
    time.sleep(5)
