"""Putting the firmware onto a board so that at every moment the old one or the new one runs, never half of one.

The firmware lies in one of two folders, and the boot file names that folder (image.py). The new one is copied into the
other folder, and read back there; then the boot file is replaced in one step, which is the whole switch; then the old
folder goes. Whatever is interrupted is taken up where it was by doing it all again.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from reedbench.errors import LinkFault
from reedbench.image import BOOT, PROCESSORS, SLOTS, USUAL, boot_file, slot_of, understood_by
from reedbench.prompt import Board, Full, sha256, worn

MICROPYTHON = (1, 28)  # what the firmware was tried with; older ones lack some of what it uses
KEPT = ("journal", "shelf", "language")  # what the firmware itself keeps in the root
_KIND = """
import sys
print(repr((sys.platform, sys.implementation.version[:2], getattr(sys.implementation, "_mpy", 0))))
"""


@dataclass(frozen=True)
class Found:
    """What is on a board. `slot`: the folder that its boot file starts, None where that is not ours or not there.
    `others`: names in its root that are not ours, as far as they matter."""

    slot: str | None
    others: tuple[str, ...]


def processor(board: Board) -> str:
    """What the firmware has to be compiled for, of PROCESSORS; the usual one where `examine` will refuse the board."""
    [(_, _, understands)] = board.run(_KIND)
    return PROCESSORS.get(understands >> 10 & 15, USUAL)


def examine(board: Board, files: Mapping[str, bytes]) -> Found:
    """Looks at a board, and changes nothing; LinkFault where `files` could not run on it."""
    [(platform, version, understands)] = board.run(_KIND)
    if platform != "rp2" or version < MICROPYTHON or understands & 0x3FFF != understood_by(files):
        raise LinkFault(
            f"the board runs MicroPython {version[0]}.{version[1]} for {platform}, and not {MICROPYTHON[0]}."
            f"{MICROPYTHON[1]} or newer for a Raspberry Pi Pico or Pico 2: see hardware/bring-up.md"
        )
    names = board.names()
    slot = slot_of(board.read(BOOT)) if BOOT in names else None
    ours = {*KEPT, *SLOTS, f"{BOOT}.new", *([BOOT] if slot else [])}
    return Found(slot, () if slot else tuple(sorted(set(names) - ours)))


@dataclass(frozen=True)
class Brought:
    """What was done. `slot`: where the firmware is now; `copied`: files that had to be sent; `switched`: whether the
    boot file was replaced, which it is not where the very same firmware ran before."""

    slot: str
    copied: int
    switched: bool


def bring(board: Board, found: Found, files: Mapping[str, bytes], step: Callable[[int], None]) -> Brought:
    """Makes `files` what the board starts. Raises Failed or LinkFault, and then what ran before still runs.

    `step` is told how many files have been copied.
    """
    wanted = {path: sha256(data) for path, data in files.items()}
    old = found.slot
    new = SLOTS[1] if old == SLOTS[0] else SLOTS[0]
    if old and board.hashes(old) == wanted:
        board.clear(new)  # of an installation that was interrupted
        return Brought(old, 0, False)
    there = board.hashes(new)
    if not there.keys() <= wanted.keys():  # begun by another version
        board.clear(new)
        there = {}
    missing = [path for path in files if wanted[path] != there.get(path)]
    try:
        board.folder(new)
        for folder in sorted({path.rpartition("/")[0] for path in files} - {""}):
            board.folder(f"{new}/{folder}")
        for done, path in enumerate(missing):
            step(done)
            board.write(f"{new}/{path}", files[path])
        step(len(missing))
        read = board.hashes(new)
        for path in sorted({*read, *wanted}):
            if read.get(path) != wanted.get(path):
                raise worn(path)
        board.replace(BOOT, boot_file(new))
    except Full:
        board.clear(new)  # the meter needs that room for its next instrument
        raise
    if old:
        board.clear(old)
    return Brought(new, len(missing), True)
