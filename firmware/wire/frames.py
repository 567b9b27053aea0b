"""Lines of the link: printable ASCII, numbered, checked, of bounded length.

    %0a3f pull from_seq=17 room=640 *165feac2
    ^seq  ^body                   ^CRC-32 of everything before " *"

A line that fails any check is not answered: the side that asked asks again with the same number. Lines are
printable so that nothing in them can interrupt MicroPython (0x03) or be rewritten by a terminal driver.
"""

import binascii

from .errors import WireError

LINE_MAX = 1024  # bytes of one line, its line feed included
START = b"%"


def crc32(data):
    """CRC-32 (the one of IEEE 802.3 and zlib) of `data`, as an unsigned number."""
    return binascii.crc32(data) & 0xFFFFFFFF


def pack(number, body):
    """One line for `body` (str, printable ASCII) under the sequence `number` (0 to 65535)."""
    head = "%%%04x %s" % (number & 0xFFFF, body)
    raw = head.encode()
    line = raw + b" *%08x\n" % crc32(raw)
    if len(line) > LINE_MAX:
        raise WireError("large", "a line of %d bytes is longer than %d" % (len(line), LINE_MAX))
    return line


def unpack(line):
    """(number, body) of one line, with or without its line feed; raises WireError for anything else."""
    raw = bytes(line).rstrip(b"\r\n")
    if len(raw) >= LINE_MAX:
        raise WireError("bad", "the line is too long")
    if len(raw) < 16 or raw[:1] != START or raw[-10:-8] != b" *" or raw[5:6] != b" ":
        raise WireError("bad", "not a line of this protocol")
    for byte in raw:
        if byte < 0x20 or byte > 0x7E:
            raise WireError("bad", "the line holds bytes that are not printable")
    number = hexadecimal(raw[1:5])
    if hexadecimal(raw[-8:]) != crc32(raw[:-10]):
        raise WireError("bad", "the checksum of the line is wrong")
    return number, raw[6:-10].decode()


def hexadecimal(digits):
    """The value of lower-case hexadecimal `digits` (bytes). int() would also take signs, spaces and capitals."""
    value = 0
    for byte in digits:
        place = b"0123456789abcdef".find(bytes((byte,)))
        if place < 0:
            raise WireError("bad", "not a hexadecimal number")
        value = value * 16 + place
    return value


class LineReader:
    """Cuts a stream of bytes into lines without ever holding more than one line of the longest kind.

    `feed(data)` returns the complete lines in `data`, as bytes without their line feed. Whatever precedes a
    start sign on a line (a prompt, noise) is dropped; an overlong line is dropped to its end and counted.
    """

    def __init__(self):
        self._kept = bytearray()
        self._skipping = False
        self.dropped = 0

    def feed(self, data):
        lines = []
        start = 0
        data = bytes(data)
        while True:
            end = data.find(b"\n", start)
            piece = data[start:] if end < 0 else data[start:end]
            if not self._skipping and len(self._kept) + len(piece) > LINE_MAX:
                self._skipping = True
                self.dropped += 1
                self._kept = bytearray()
            if not self._skipping:
                self._kept.extend(piece)
            if end < 0:
                return lines
            if not self._skipping:
                line = bytes(self._kept).rstrip(b"\r")
                sign = line.rfind(START)
                if sign >= 0:
                    lines.append(line[sign:])
            self._kept = bytearray()
            self._skipping = False
            start = end + 1
