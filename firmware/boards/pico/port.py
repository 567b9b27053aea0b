"""The USB port: MicroPython's own serial line, as bytes.

It carries the prompt when the firmware is not running. While a host talks to the firmware, Ctrl-C is an
ordinary byte; after it has fallen silent Ctrl-C interrupts again, so that there is always a way back.
"""

import select
import sys
import time

import micropython

_ROOM = 512  # bytes taken in one go: what the port buffers
_PIECE = 64  # bytes of one USB packet
_PATIENCE_MS = 100  # for a host to take a piece
_SILENT_MS = 5000  # after this a host counts as gone
_CTRL_C = 3


class Port:
    """`read` never waits. `write` gives up on a host that does not read, after 0.6 s at most."""

    def __init__(self):
        self._incoming = select.poll()
        self._incoming.register(sys.stdin, select.POLLIN)
        self._outgoing = select.poll()
        self._outgoing.register(sys.stdout, select.POLLOUT)
        self._byte = bytearray(1)
        self._heard = None

    @property
    def connected(self):
        """Whether a host has spoken lately. The port does not tell whether a program holds it open (DTR)."""
        return self._heard is not None

    def read(self):
        """What has come in, b"" if nothing."""
        if not _ready(self._incoming, 0):
            if self._heard is not None and time.ticks_diff(time.ticks_ms(), self._heard) > _SILENT_MS:
                self._heard = None
                micropython.kbd_intr(_CTRL_C)
            return b""
        if self._heard is None:
            micropython.kbd_intr(-1)
        self._heard = time.ticks_ms()
        data = bytearray()
        # One byte at a time: a longer read waits until it has all it was asked for.
        while len(data) < _ROOM and _ready(self._incoming, 0):
            sys.stdin.buffer.readinto(self._byte)
            data.extend(self._byte)
        return bytes(data)

    def write(self, data):
        """Sends `data`; drops the rest when the host does not read. It asks again for what it did not get."""
        view = memoryview(data)
        for at in range(0, len(data), _PIECE):
            if not _ready(self._outgoing, _PATIENCE_MS):
                return
            piece = view[at : at + _PIECE]
            if sys.stdout.buffer.write(piece) != len(piece):
                return


def _ready(poll, patience_ms):
    return any(True for _ in poll.ipoll(patience_ms))
