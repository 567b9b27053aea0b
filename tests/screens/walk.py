"""Runs on MicroPython: every key on every screen of the whole firmware. Prints [start, screen, where each step leads].

Screens that differ only in their figures, or in what is set, count as one. Each way is walked
again from power on, on a flash of its own.
"""

import json
import os
import sys

ROOT, FOLDER = sys.argv[1:]
sys.path[:0] = [ROOT + "/firmware", ROOT + "/tests/meter"]

import framebuf  # noqa: E402
import pocket  # noqa: E402

KEYS = [(key, press) for key in ("up", "down", "do") for press in ("tap", "hold")]
REEDS = [("1", "blow", "", "", 440.0), ("1", "draw", "", "", 493.8833), ("2", "blow", "", "", 554.3653)]
SETTINGS = ("value", "state", "choice")  # what is set to what makes no other screen
DIGITS = set("0123456789")
SOUNDS = [440.4, 493.0, 95.0]
frame = framebuf.FrameBuffer(bytearray(1024), 128, 64, framebuf.MONO_VLSB)
flashes = 0


def screen(start, way):
    """What the screen shows after `start` and the steps of `way`, without figures; it is drawn, too."""
    global flashes
    from screens import draw

    flashes += 1
    folder = f"{FOLDER}/{flashes}"
    os.mkdir(folder)
    meter = pocket.boot(folder)
    start(meter)
    for step in way:
        if isinstance(step, float):
            pocket.sound(meter, step)
        else:
            pocket.tap(meter, *step)
    view = meter.part.shown
    draw.paint(view, frame)
    lines = [f"{role} {text}" for role, text in view.lines if role not in SETTINGS and not set(text) & DIGITS]
    return meter._name + ", " + view.page + ": " + "; ".join(lines)


def walk(start, steps):
    """{screen: [where each of `steps` leads]} of all that are reached."""
    found, waiting = {}, [((), screen(start, ()))]
    while waiting:
        way, here = waiting.pop(0)
        if here in found:
            continue
        found[here] = []
        for step in steps:
            longer = way + (step,)  # noqa: RUF005  (MicroPython has no other way)
            there = screen(start, longer)
            found[here].append(there)
            if there not in found:
                waiting.append((longer, there))
    return found


def empty(meter):
    pass


def loaded(meter):
    pocket.put(meter, REEDS)


def full(meter):
    from wire.errors import WireError

    meter.fault = WireError("full", "")
    pocket.turn(meter)


def deaf(meter):
    meter.microphone.missing = "nothing"
    pocket.turn(meter)


for title, start, steps in (
    ("deaf", deaf, KEYS),
    ("full", full, KEYS),
    ("empty", empty, KEYS),
    ("loaded", loaded, KEYS + SOUNDS),
):
    found = walk(start, steps)
    for here in found:
        print(json.dumps([title, here, found[here]]))
