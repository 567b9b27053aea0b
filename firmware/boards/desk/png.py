"""Writes a picture of one bit a pixel as a PNG file (ISO/IEC 15948), stored and not squeezed."""

import binascii
import struct


def write(path, width, height, rows):
    """`rows`: the lines of the picture, `width` / 8 bytes each, highest bit leftmost, 1 is white."""
    stride = width // 8
    no_filter = b"\0"
    lines = b"".join(no_filter + bytes(rows[y * stride : (y + 1) * stride]) for y in range(height))
    with open(path, "wb") as file:
        file.write(b"\x89PNG\r\n\x1a\n")
        file.write(_chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)))
        file.write(_chunk(b"IDAT", _zlib(lines)))
        file.write(_chunk(b"IEND", b""))


def _chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", binascii.crc32(kind + data))


def _zlib(data):
    """One stored block of a zlib stream (RFC 1950 and 1951); `data` below 65536 bytes."""
    low, high = 1, 0
    for byte in data:
        low = (low + byte) % 65521
        high = (high + low) % 65521
    block = struct.pack("<BHH", 1, len(data), len(data) ^ 0xFFFF)
    return b"\x78\x01" + block + data + struct.pack(">HH", high, low)
