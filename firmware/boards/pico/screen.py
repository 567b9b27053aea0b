"""The display: 128 x 64 on I2C, of the chip that pins.py names. Only pages that changed are sent.

A display fault never costs a reading: it is remembered in `missing`, and the next picture tries again.
"""

import binascii

import framebuf
from screens import draw

from . import pins
from .bus import wires
from .panels import PANELS

WIDTH = 128
HEIGHT = 64
_PAGES = HEIGHT // 8
_BEGIN, _FIRST_COLUMN = PANELS[pins.DISPLAY_CHIP]
_COMMANDS, _PICTURE = b"\x00", b"\x40"  # what follows
_CONTRASTS = (0x00, 0x01, 0x30, 0x70, 0xCF, 0xFF)  # by level


class Screen:
    """`missing`: what is wrong with the display, "" if nothing."""

    def __init__(self):
        self._pixels = bytearray(WIDTH * HEIGHT // 8)
        self._canvas = framebuf.FrameBuffer(self._pixels, WIDTH, HEIGHT, framebuf.MONO_VLSB)
        self._view = memoryview(self._pixels)
        self._checks = [0] * _PAGES  # CRC-32 of each page as it was last sent: a copy would take a kilobyte
        self._page = bytearray(_PICTURE + bytes(WIDTH))
        self._body = memoryview(self._page)[1:]
        self._seek = bytearray((0x00, 0xB0, _FIRST_COLUMN, 0x10))
        self._lit = None  # as `light` was told last
        self.missing = "not begun"
        self._begin()

    def show(self, view):
        """Draws a screens.view.View and sends what changed."""
        draw.paint(view, self._canvas)
        if self.missing:
            self._begin()
        if not self.missing:
            self._send(False)

    def light(self, level, turned):
        """Brightness `level` from 1 to 5, 0 puts it out; `turned`: upside down."""
        self._lit = (level, turned)
        if self.missing:
            return
        look = bytes((0xA0 if turned else 0xA1, 0xC0 if turned else 0xC8, 0x81, _CONTRASTS[level]))
        try:
            wires.writeto(pins.DISPLAY_ADDRESS, _COMMANDS + look + bytes((0xAF if level else 0xAE,)))
        except OSError:
            self.missing = "the display stopped answering"
            return
        self._send(True)  # what it holds lies as it was written

    def _begin(self):
        """Sets the display up, if one answers, and blanks it: it powers up with noise."""
        try:
            if pins.DISPLAY_ADDRESS not in wires.scan():
                self.missing = "no display answers at 0x%02x" % pins.DISPLAY_ADDRESS
                return
            wires.writeto(pins.DISPLAY_ADDRESS, _COMMANDS + _BEGIN)
        except OSError:
            self.missing = "the display does not take commands"
            return
        self.missing = ""
        if self._lit:
            self.light(*self._lit)
        else:
            self._send(True)

    def _send(self, everything):
        for page in range(_PAGES):
            pixels = self._view[WIDTH * page : WIDTH * (page + 1)]
            check = binascii.crc32(pixels)
            if everything or check != self._checks[page]:
                self._checks[page] = check
                self._body[:] = pixels
                self._seek[1] = 0xB0 | page
                try:
                    wires.writeto(pins.DISPLAY_ADDRESS, self._seek)
                    wires.writeto(pins.DISPLAY_ADDRESS, self._page)
                except OSError:
                    self.missing = "the display stopped answering"
                    return
