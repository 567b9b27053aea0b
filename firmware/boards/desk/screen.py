"""The desk's screen: it hands its words to the player, and writes every picture as a PNG file if asked to."""

import framebuf

from screens import draw

from . import bench, png

WIDTH = 128
HEIGHT = 64


class Screen:
    """`missing`: why there is no screen, "" if there is."""

    def __init__(self):
        self.missing = "no display answers" if "no-display" in bench.settings["faults"] else ""
        self._pixels = bytearray(WIDTH * HEIGHT // 8)
        self._canvas = framebuf.FrameBuffer(self._pixels, WIDTH, HEIGHT, framebuf.MONO_VLSB)
        self._shown = b""
        self._pictures = 0

    def show(self, view):
        if self.missing:
            return
        draw.paint(view, self._canvas)
        bench.words = view.words()
        bench.pixels = bytes(self._pixels) if bench.settings["watched"] else None
        if bench.settings["screens"] and self._pixels != self._shown:
            self._shown = bytes(self._pixels)
            self._keep(bench.settings["screens"])

    def light(self, level, turned):
        """Brightness and which way up: nothing that this screen could show, pictures are always lit and upright."""
        bench.lit = level

    def _keep(self, folder):
        """Writes the picture as NUMBER-MILLISECONDS.png, numbered from 1."""
        self._pictures += 1
        rows = bytearray(len(self._pixels))
        framebuf.FrameBuffer(rows, WIDTH, HEIGHT, framebuf.MONO_HLSB).blit(self._canvas, 0, 0)
        png.write("%s/%04d-%d.png" % (folder, self._pictures, bench.ticks_ms()), WIDTH, HEIGHT, rows)
