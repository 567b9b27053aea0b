"""The display's driver, byte by byte, against the command tables of both chips' data sheets."""

from collections.abc import Callable
from typing import Any

import pytest
from chips import chip
from plan import PLAN

# The driver as it is, on MicroPython; only the wires are played. What is drawn is a line from corner to corner with a
# frame around, then the same and a dot.
SCRIPT = """
sent = []
class I2C:
    there = True
    def __init__(self, controller, scl, sda, freq, timeout):
        sent.append(["made", controller, scl, sda, freq])
    def scan(self):
        return [0x3C] if I2C.there else []
    def writeto(self, address, data):
        if not I2C.there:
            raise OSError(5)
        sent.append([address, list(data)])
class Machine:
    pass
machine = Machine()
machine.I2C = I2C
machine.Pin = lambda number: number
sys.modules["machine"] = machine
from boards import pico
sys.modules["board"] = pico
from boards.pico import pins
pins.DISPLAY_CHIP = values
from boards.pico import screen
class Draw:
    dot = False
    def paint(self, view, canvas):
        canvas.fill(0)
        canvas.rect(0, 0, 128, 64, 1)
        canvas.line(0, 0, 126, 63, 1)
        if view:
            canvas.pixel(100, 20, 1)
screen.draw = Draw()
marks = []
display = screen.Screen()
marks.append(len(sent))
display.show(False)
marks.append(len(sent))
display.show(True)
marks.append(len(sent))
display.show(True)
marks.append(len(sent))
I2C.there = False
display.show(False)
lost = display.missing
display.show(True)
I2C.there = True
display.show(False)
print(json.dumps([sent, marks, lost, display.missing]))
"""


@pytest.mark.parametrize("name", ["SSD1306", "SH1106"])
def test_a_chip_shows_what_was_drawn(micropython: Callable[..., Any], name: str) -> None:
    sent, marks, lost, found = micropython(SCRIPT, name)
    assert sent[0] == ["made", 0, 5, 4, 400_000]
    fake, seen = chip(name), []
    for number, message in enumerate(sent):
        if number in marks:
            seen.append(fake.lit())
        if number:
            assert message[0] == 0x3C
            fake.take(bytes(message[1]))
    seen.append(fake.lit())
    blank, drawn, dotted, after = seen
    assert not any(map(any, blank)), "what it powers up with stays on the glass"
    assert fake.pump_set_while_off
    frame = [[x in (0, 127) or y in (0, 63) for x in range(128)] for y in range(64)]
    assert all(drawn[y][x] for y in range(64) for x in range(128) if frame[y][x])
    assert all(any(drawn[y][x] for x in range(2 * y - 2, 2 * y + 3)) for y in range(2, 62)), "the line is broken"
    assert [(x, y) for y in range(64) for x in range(128) if drawn[y][x] != dotted[y][x]] == [(100, 20)]
    assert marks[2] - marks[1] == 2, "one page had changed: one seek, one page"
    assert marks[3] == marks[2], "nothing had changed, and yet something was sent"
    assert "stopped answering" in lost and found == "" and after == drawn, "it is set up again once it is back"


def test_the_pages_name_the_chips_that_there_are() -> None:
    words = PLAN.part("display").what + " ".join(PLAN.part("display").equivalents)
    assert "SSD1306" in words and "SH1106" in words


def test_a_picture_of_the_wrong_chip_is_seen_to_be_wrong(micropython: Callable[..., Any]) -> None:
    """What the page says of it: an SSD1306 that in truth is an SH1106 shows the picture two columns to the left."""
    sent, marks, *_ = micropython(SCRIPT, "SSD1306")
    fake = chip("SH1106")
    for message in sent[1 : marks[1]]:
        # A chip passes over codes it does not know; these two take one byte after them.
        data = bytes(message[1]).replace(b"\x20\x02", b"").replace(b"\x8d\x14", b"\xad\x8b")
        fake.take(data)
    drawn = fake.lit()
    assert all(row[125] for row in drawn) and not any(row[0] for row in drawn[2:62])
