"""What a WAV file holds, found from its head without believing it.

Every size in the head is held against the size of the file itself, and sound is read in blocks, so that neither
a huge file nor a head that lies about one takes more memory than a block.
"""

import os
import stat
import struct
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from os import PathLike, fspath
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from reedbench.errors import BadInput
from reedbench.output import clean

RATES = (8000, 192000)
CHANNELS_MOST = 32
CHUNKS_MOST = 1000  # before the sound; a usual file has one to ten
LONGEST_S = 1800.0
LONGEST_BYTES = 1 << 30
BLOCK_FRAMES = 1 << 16
UNKNOWN_SIZE = 0xFFFFFFFF  # what a program writes that cannot go back to the head

_WHOLE, _FLOAT, _EXTENSIBLE = 1, 3, 0xFFFE
Samples = NDArray[np.float64]


@dataclass(frozen=True)
class Recording:
    """Sound in a file: `frames` of `channels` samples from byte `start` on; `missing_s`: cut off at the end."""

    path: str
    rate: int
    channels: int
    kind: tuple[int, int]  # code and bytes of a sample
    start: int
    frames: int
    missing_s: float

    @property
    def where(self) -> str:
        """The file as messages name it."""
        return clean(self.path)

    def blocks(self) -> Iterator[Samples]:
        """The sound, mean of the channels, full scale 1, in blocks; BadInput where it is not made of numbers."""
        decode = _DECODERS[self.kind]
        size = self.channels * self.kind[1]
        try:
            with open(self.path, "rb") as file:
                file.seek(self.start)
                for done in range(0, self.frames, BLOCK_FRAMES):
                    raw = file.read(min(BLOCK_FRAMES, self.frames - done) * size)
                    raw = raw[: len(raw) // size * size]
                    samples = decode(raw).reshape(-1, self.channels)
                    if not np.all(np.isfinite(samples)):
                        raise BadInput(f"{self.where}: holds samples that are not numbers")
                    yield samples.mean(axis=1)
        except OSError as error:
            raise BadInput(f"{self.where}: cannot be read: {error.strerror or error}") from error


def find_sound(path: str | PathLike[str]) -> Recording:
    """The sound in the WAV file at `path`.

    Integers of 8, 16, 24 or 32 bits or floats, RATES samples per second, at most LONGEST_S seconds and
    LONGEST_BYTES. BadInput, one line, for anything else.
    """
    where = clean(fspath(path))
    try:
        with open(path, "rb", opener=_without_waiting) as file:
            about = os.fstat(file.fileno())
            if not stat.S_ISREG(about.st_mode):
                raise BadInput(f"{where}: is not a file with a recording")
            if about.st_size > LONGEST_BYTES:
                raise BadInput(f"{where}: larger than {LONGEST_BYTES >> 20} MiB: cut out the part to be heard")
            return _found(file, about.st_size, fspath(path), where)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise BadInput(f"{where}: cannot be read: {clean(reason)}") from error


def _without_waiting(path: str, flags: int) -> int:
    """Opens without waiting for a writer, which a named pipe would."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _found(file: BinaryIO, size: int, path: str, where: str) -> Recording:
    head = file.read(12)
    if len(head) < 12 or head[:4] not in (b"RIFF", b"RF64") or head[8:] != b"WAVE":
        raise BadInput(f"{where}: not a WAV file that can be read (it does not begin as one)")
    form: tuple[int, int, tuple[int, int]] | None = None
    for _ in range(CHUNKS_MOST):
        name, claimed = _chunk(file, where)
        at = file.tell()
        if name == b"data":
            if form is None:
                raise BadInput(f"{where}: not a WAV file that can be read (its sound comes before its format)")
            return _recording(path, where, form, at, claimed, size - at)
        if name == b"fmt ":
            form = _form(file.read(min(claimed, 40)), where)
        file.seek(at + claimed + claimed % 2)  # chunks begin at even bytes
    raise BadInput(f"{where}: not a WAV file that can be read (more than {CHUNKS_MOST} parts before the sound)")


def _chunk(file: BinaryIO, where: str) -> tuple[bytes, int]:
    """Name and claimed size of the next chunk."""
    head = file.read(8)
    if len(head) < 8:
        raise BadInput(f"{where}: not a WAV file that can be read (it ends before its sound begins)")
    name, size = struct.unpack("<4sI", head)
    return name, size


def _form(raw: bytes, where: str) -> tuple[int, int, tuple[int, int]]:
    """Rate, channels and kind of sample, from the chunk that tells them."""
    if len(raw) < 16:
        raise BadInput(f"{where}: not a WAV file that can be read (its format is cut off)")
    code, channels, rate, _, frame, bits = struct.unpack_from("<HHIIHH", raw)
    if code == _EXTENSIBLE and len(raw) >= 26:
        code = struct.unpack_from("<H", raw, 24)[0]
    if not RATES[0] <= rate <= RATES[1]:
        raise BadInput(f"{where}: {rate} samples per second; {RATES[0]} to {RATES[1]} can be read")
    if not 1 <= channels <= CHANNELS_MOST:
        raise BadInput(f"{where}: {channels} channels; 1 to {CHANNELS_MOST} can be read")
    kind = (code, frame // channels)
    if kind not in _DECODERS or frame != channels * kind[1] or not 0 < bits <= 8 * kind[1]:
        raise BadInput(
            f"{where}: samples of format {code} with {bits} bits; 8, 16, 24 or 32-bit integers and floats can be read"
        )
    return rate, channels, kind


def _recording(
    path: str, where: str, form: tuple[int, int, tuple[int, int]], start: int, claimed: int, there: int
) -> Recording:
    rate, channels, kind = form
    size = channels * kind[1]
    frames = min(claimed, there) // size
    if frames == 0:
        raise BadInput(f"{where}: there is no sound in it")
    if frames > LONGEST_S * rate:
        raise BadInput(f"{where}: longer than {LONGEST_S / 60:g} minutes: cut out the part to be heard")
    cut = claimed // size - frames if claimed != UNKNOWN_SIZE else 0
    return Recording(path, rate, channels, kind, start, frames, cut / rate)


def _eight(raw: bytes) -> Samples:
    return (np.frombuffer(raw, np.uint8).astype(np.float64) - 128) / 128


def _twenty_four(raw: bytes) -> Samples:
    parts = np.frombuffer(raw, np.uint8).reshape(-1, 3)
    words = np.zeros((len(parts), 4), np.uint8)
    words[:, 1:] = parts
    return words.view("<i4")[:, 0].astype(np.float64) / (1 << 31)


def _whole(code: str, full: int) -> Callable[[bytes], Samples]:
    return lambda raw: np.frombuffer(raw, code).astype(np.float64) / full


# A sample that uses fewer bits than its bytes have is left-justified in them, by the format's own rule.
_DECODERS: dict[tuple[int, int], Callable[[bytes], Samples]] = {
    (_WHOLE, 1): _eight,
    (_WHOLE, 2): _whole("<i2", 1 << 15),
    (_WHOLE, 3): _twenty_four,
    (_WHOLE, 4): _whole("<i4", 1 << 31),
    (_FLOAT, 4): _whole("<f4", 1),
    (_FLOAT, 8): _whole("<f8", 1),
}
