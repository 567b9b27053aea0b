"""Runs on MicroPython: prints each scene's name, its 1,024 bytes in hexadecimal and its words, one a line."""

import binascii
import json
import sys

ROOT = sys.argv[1]  # the project's folder
sys.path[:0] = [ROOT + "/firmware", ROOT + "/tests/screens"]

import framebuf  # noqa: E402  (the path comes first)
import scenes  # noqa: E402
from screens import draw, logic  # noqa: E402

bits = bytearray(1024)
frame = framebuf.FrameBuffer(bits, 128, 64, framebuf.MONO_VLSB)
for language, names in scenes.LANGUAGES:
    for name in names:
        logic.speak(language, scenes.MODES.get(name, "surveying"))
        view = scenes.SCENES[name]()
        draw.paint(view, frame)
        print(json.dumps([language + "-" + name, binascii.hexlify(bits).decode(), view.words()]))
