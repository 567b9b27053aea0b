"""The desk's microphone: samples come from a player, over a socket, when the meter asks for them.

The meter sends one JSON line, {"need": n, "count": c}, and reads n little-endian 32-bit words. `count` is
what it has taken since power-up. Where they say something new the line also holds "lost_ms", for how long
the microphone stood still since the last line, "words", what the screen shows, and where it is watched
"pixels", its frame buffer in hexadecimal. A meter that sleeps needs 0 words. A player that closes the socket cuts
the power.
"""

import binascii
import json
import sys

from . import bench

WRITING_MS = 50  # what a pause for writing flash is taken to last: the desk's own takes no time
STILL = bench.RATE  # so many samples without any change are no microphone
DROPPING = 3 * 16384  # samples from one lost block to the next, for a microphone that drops them
DROPPED_MS = 16


class Microphone:
    """`rate`: samples per second. `rate_ppb`: known deviation of the true rate from it, parts per billion.

    `count`: samples read since power-up. `behind`: whether any wait to be read; its player waits instead.
    `missing`: why there is no microphone, "" if there is.
    """

    rate = bench.RATE
    rate_ppb = 0
    behind = False
    missing = ""

    def __init__(self):
        self._silent = "no-microphone" in bench.settings["faults"]
        self._dropping = "dropped-blocks" in bench.settings["faults"]
        self.running = False
        bench.microphone = self
        self._player = open(bench.settings["player_fd"], "r+b")
        self._lost_ms = 0
        self._words = self._pixels = None

    @property
    def count(self):
        return bench.samples

    def start(self):
        self.running = True

    def stop(self):
        if self.running:
            self.running = False
            self._lose(WRITING_MS)

    def rest(self, ms):
        """It stands still for so long, and the player is only told what the screen shows."""
        self._lose(ms)
        try:
            self._player.write(self._request(0))
        except OSError:
            sys.exit()

    def _lose(self, ms):
        self._lost_ms += ms
        bench.lost_ms += ms

    def read(self, words):
        """Fills `words`, array("i"), with 24-bit samples, left-justified; returns how many were lost."""
        if not self.running:
            raise RuntimeError("the microphone is not running")
        if self._dropping and (bench.samples + len(words)) % DROPPING < len(words):
            self._lose(DROPPED_MS)
        lost = self._lost_ms * bench.RATE // 1000
        try:
            self._player.write(self._request(len(words)))
            got = self._player.readinto(words)
        except OSError:
            got = 0
        if got < 4 * len(words):
            sys.exit()
        bench.samples += len(words)
        if self._silent:
            for i in range(len(words)):
                words[i] = 0
            if bench.samples >= STILL:
                self.missing = "the microphone sends nothing"
        return lost

    def _request(self, need):
        request = {"need": need, "count": bench.samples}
        if self._lost_ms:
            request["lost_ms"] = self._lost_ms
            self._lost_ms = 0
        if bench.words != self._words:
            request["words"] = self._words = bench.words
        if bench.pixels != self._pixels:
            self._pixels = bench.pixels
            request["pixels"] = binascii.hexlify(bench.pixels).decode()
        return json.dumps(request).encode() + b"\n"
