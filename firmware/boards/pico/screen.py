"""The display: an SSD1306 of 128 x 64 on I2C. Only pages that changed are sent.

A display fault never costs a reading: it is remembered in `missing`, and the next picture tries again.
"""

import binascii

import framebuf
from machine import I2C, Pin
from screens import draw

from . import pins

WIDTH = 128
HEIGHT = 64
_PAGES = HEIGHT // 8
_BAUD = 400_000  # the data sheet's limit; a whole picture takes 25 ms, a page 3
_TIMEOUT_US = 5000  # a display that hangs must not hold up the microphone

# Commands of the SSD1306 data sheet, section 9; an SH1106 differs in its charge pump and starts at column 2.
_FIRST_COLUMN = 0
_BEGIN = bytes(
    (
        0x00,  # what follows are commands
        0xAE,  # off
        0xD5, 0x80,  # clock
        0xA8, HEIGHT - 1,  # rows
        0xD3, 0x00,  # no shift
        0x40,  # first row on top
        0x8D, 0x14,  # charge pump on
        0x20, 0x02,  # page by page
        0xA1,  # left to right
        0xC8,  # top to bottom
        0xDA, 0x12,  # how the glass is wired
        0x81, 0xCF,  # contrast
        0xD9, 0xF1,  # precharge
        0xDB, 0x30,  # deselect level
        0xA4,  # show memory
        0xA6,  # lit is 1
        0xAF,  # on
    )
)  # fmt: skip


class Screen:
    """`missing`: what is wrong with the display, "" if nothing."""

    def __init__(self):
        self._pixels = bytearray(WIDTH * HEIGHT // 8)
        self._canvas = framebuf.FrameBuffer(self._pixels, WIDTH, HEIGHT, framebuf.MONO_VLSB)
        self._view = memoryview(self._pixels)
        self._checks = [0] * _PAGES  # CRC-32 of each page as it was last sent: a copy would take a kilobyte
        self._page = bytearray(b"\x40" + bytes(WIDTH))  # behind the byte that announces picture data
        self._body = memoryview(self._page)[1:]
        self._seek = bytearray((0x00, 0xB0, _FIRST_COLUMN, 0x10))
        self._i2c = I2C(
            pins.DISPLAY_CONTROLLER,
            scl=Pin(pins.DISPLAY_CLOCK),
            sda=Pin(pins.DISPLAY_DATA),
            freq=_BAUD,
            timeout=_TIMEOUT_US,
        )
        self.missing = "not begun"
        self._begin()

    def show(self, view):
        """Draws a screens.view.View and sends what changed."""
        draw.paint(view, self._canvas)
        if self.missing:
            self._begin()
        if not self.missing:
            self._send(False)

    def _begin(self):
        """Sets the display up, if one answers, and blanks it: it powers up with noise."""
        try:
            if pins.DISPLAY_ADDRESS not in self._i2c.scan():
                self.missing = "no display answers at 0x%02x" % pins.DISPLAY_ADDRESS
                return
            self._i2c.writeto(pins.DISPLAY_ADDRESS, _BEGIN)
        except OSError:
            self.missing = "the display does not take commands"
            return
        self.missing = ""
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
                    self._i2c.writeto(pins.DISPLAY_ADDRESS, self._seek)
                    self._i2c.writeto(pins.DISPLAY_ADDRESS, self._page)
                except OSError:
                    self.missing = "the display stopped answering"
                    return
