"""Mounts the desk's flash by the rule of the Pico's own MicroPython: on any mount error it is formatted."""

import os

import vfs

from meter.journal import RESERVE

from .bench import settings
from .flash import Flash

_FILLER = "filler"
_LEFT = 14  # blocks, for the instrument and some dozens of takes


def mount():
    """Path the files are under."""
    flash = Flash(settings["flash"])
    try:
        files = vfs.VfsLfs2(flash, progsize=256)
    except Exception:  # of any kind, as on the Pico: a meter must start, with an empty flash if need be
        vfs.VfsLfs2.mkfs(flash, progsize=256)
        files = vfs.VfsLfs2(flash, progsize=256)
    vfs.mount(files, "/flash")
    _fill("/flash", "flash-full" in settings["faults"])
    return "/flash"


def _fill(root, full):
    """Leaves the journal next to no room if the flash is to be `full`, or takes what did so away again."""
    if _FILLER in os.listdir(root):
        os.remove(root + "/" + _FILLER)
    if full:
        size, _, _, free = os.statvfs(root)[:4]
        with open(root + "/" + _FILLER, "wb") as file:
            for _ in range(free - RESERVE // size - _LEFT):
                file.write(bytes(size))
