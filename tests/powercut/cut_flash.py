"""What is done to a flash, and what is on it when the power goes before, in the middle of, or after any of that."""

import random
import struct
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

SECTOR = 4096
PAGE = 256  # bytes that a NOR chip programs at once
SECTORS = 96  # fewer than a board has, so that littlefs comes round and uses each again
_HEAD = struct.Struct("<BHHH")

# How far an operation has come when the power goes. A bit that is left undecided reads as either.
WAYS = {
    "before": "not begun",
    "part": "some bytes are done, the rest is as it was",
    "bits": "some bytes are done; in the page that was being programmed, or the whole sector, bits are undecided",
    "most": "all is done but for a few undecided bits in the last page",
}


class Operation(NamedTuple):
    """One erase (`data` empty) or program of a flash; `at` counted from its start."""

    at: int
    data: bytes

    @property
    def end(self) -> int:
        return self.at + (len(self.data) or SECTOR)

    def on(self, there: bytes) -> bytes:
        """What it makes of the bytes that lie in its place: erased to ones, programmed to zeros."""
        if not self.data:
            return b"\xff" * SECTOR
        if there.count(0xFF) == len(there):
            return self.data
        return bytes(old & new for old, new in zip(there, self.data, strict=True))


def read_log(path: Path) -> Iterator[Operation]:
    """The operations that cut_meter.py has noted."""
    log = path.read_bytes()
    at = 0
    while at < len(log):
        kind, sector, offset, length = _HEAD.unpack_from(log, at)
        at += _HEAD.size
        yield Operation(sector * SECTOR + offset, log[at : at + length] if kind else b"")
        at += length


def carry_out(image: bytearray, operation: Operation) -> None:
    """Does the whole operation to `image`."""
    place = slice(operation.at, operation.end)
    image[place] = operation.on(bytes(image[place]))


def cut(image: bytes, operation: Operation, way: str, chance: random.Random) -> bytearray:
    """The flash after the power went in the middle of `operation`, in one of WAYS."""
    torn = bytearray(image)
    if way == "before":
        return torn
    place = slice(operation.at, operation.end)
    old, new = image[place], operation.on(image[place])
    unit = PAGE if operation.data else SECTOR
    last = (len(new) - 1) // unit * unit
    if way == "part":
        done, undecided = chance.randrange(1, len(new)) if len(new) > 1 else 0, 0.0
    elif way == "bits":
        done, undecided = chance.randrange(0, last + 1, unit), 0.5
    else:
        done, undecided = last, 0.005
    beyond = min(done + unit, len(new)) if undecided else done
    page = bytes(_undecided(a, b, undecided, chance) for a, b in zip(old[done:beyond], new[done:beyond], strict=True))
    torn[place] = new[:done] + page + old[beyond:]
    return torn


def _undecided(old: int, new: int, share: float, chance: random.Random) -> int:
    """`new`, but of the bits that were to change a `share` may still be as they were."""
    kept = 0
    for bit in range(8):
        if chance.random() < share:
            kept |= 1 << bit
    return new ^ ((old ^ new) & kept)
