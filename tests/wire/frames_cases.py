"""Cases about lines, for CPython and MicroPython alike; bytes pass as lists of numbers or as text."""

from wire import frames
from wire.errors import WireError


def refused(line):
    """Whether `line` is refused as a line must be: by WireError, and nothing else."""
    try:
        frames.unpack(line)
    except WireError:
        return True
    return False


def packed(number, body):
    """The line as text, or the code it is refused with."""
    try:
        return frames.pack(number, body).decode()
    except WireError as error:
        return error.code


def unpacked(line):
    """[number, body], or the code it is refused with."""
    try:
        return list(frames.unpack(line.encode()))
    except WireError as error:
        return error.code


def crc32(text):
    return frames.crc32(text.encode())


def flips_accepted(number, body):
    """[place, byte] of every change of one byte of the line that still passes."""
    line = bytearray(frames.pack(number, body)[:-1])
    passed = []
    for place in range(len(line)):
        right = line[place]
        for byte in range(256):
            line[place] = byte
            if byte != right and not refused(line):
                passed.append([place, byte])
        line[place] = right
    return passed


def cuts_accepted(number, body):
    """Every pair of ends at which a cut line still passes."""
    line = frames.pack(number, body)[:-1]
    ends = [(0, end) for end in range(len(line))] + [(start, len(line)) for start in range(1, len(line))]
    return [list(pair) for pair in ends if not refused(line[pair[0] : pair[1]])]


def read_in_pieces(text, sizes):
    """For each size: the lines that come out when `text` is fed in pieces of that many bytes."""
    data = text.encode()
    found = []
    for size in sizes:
        reader = frames.LineReader()
        lines = []
        for at in range(0, len(data), size):
            lines += reader.feed(data[at : at + size])
        found.append([line.decode() for line in lines])
    return found


def read_after_garbage(count, size, with_feeds):
    """(body of the one good line after `count` pieces of garbage, lines before it, overlong lines dropped)."""
    reader = frames.LineReader()
    garbage = bytes(range(1, 10)) + b"%0001 " + b"x" * size
    if with_feeds:
        garbage += b"\n"
    before = 0
    for _ in range(count):
        before += len(reader.feed(garbage))
    lines = reader.feed(b"\n" + frames.pack(7, "status"))
    return [[list(frames.unpack(line)) for line in lines], before, reader.dropped]


def dropped(lengths):
    """How many overlong lines are counted in a stream of lines of these lengths, line feed excluded."""
    reader = frames.LineReader()
    for length in lengths:
        reader.feed(b"%" + b"x" * (length - 1) + b"\n")
    return reader.dropped
