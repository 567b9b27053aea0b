"""The desk's USB port: the meter's end of a pty."""

import select

from .bench import settings

_ROOM = 2048  # bytes taken in one go, at most
_PATIENCE_MS = 500  # the Pico's USB port drops what nobody reads for so long


class Port:
    """Never blocks: `read` returns b"" when nothing came, `write` drops what nobody wants to read."""

    def __init__(self):
        self._pty = open(settings["port_fd"], "r+b")
        self._poll = select.poll()
        self._poll.register(self._pty, select.POLLIN)

    @property
    def connected(self):
        """Whether a program has the other end open."""
        return not self._ready(select.POLLIN, 0) & select.POLLHUP

    def read(self):
        data = bytearray()
        # One byte at a time: a file's read() waits until it has all it was asked for.
        while len(data) < _ROOM and self._ready(select.POLLIN, 0) & select.POLLIN:
            try:
                data.extend(self._pty.read(1))
            except OSError:
                break
        return bytes(data)

    def write(self, data):
        if self._ready(select.POLLOUT, _PATIENCE_MS) & select.POLLOUT:
            try:
                self._pty.write(data)
            except OSError:
                pass

    def _ready(self, events, patience_ms):
        self._poll.modify(self._pty, events)
        for _, happened in self._poll.poll(patience_ms):
            return happened
        return 0
