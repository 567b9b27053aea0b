"""Says what the keys do, by the firmware's own driver, for twenty seconds. On the board, with the firmware's files:

mpremote run hardware/on_board/keys.py

Press each shortly, then for a second. "down 3 times" is how often its wire fell: more than once a press is bounce.
"""

# ruff: noqa: I001
import main  # noqa: F401 - it knows where the firmware lies
import time

from board import keys, pins
from machine import Pin

SECONDS = 20

board = keys.Keys()
wires = (("up", pins.KEY_UP), ("down", pins.KEY_DOWN), ("do", pins.KEY_DO))
for name, number in wires:
    print(name, "GPIO", number, "is", "pressed" if board.held_at_start(name) else "open")
until = time.ticks_add(time.ticks_ms(), 1000 * SECONDS)
last = {name: 1 for name, _ in wires}
falls = {name: 0 for name, _ in wires}
while time.ticks_diff(until, time.ticks_ms()) > 0:
    for name, number in wires:
        now = Pin(number).value()
        falls[name] += last[name] and not now
        last[name] = now
    for key, press in board.poll():
        print(key, press, "- down", falls[key], "times")
        falls[key] = 0
