"""Mounts the desk's flash by the rule of the Pico's own MicroPython: on any mount error it is formatted."""

import vfs

from .bench import settings
from .flash import Flash


def mount():
    """Path the files are under."""
    flash = Flash(settings["flash"])
    try:
        files = vfs.VfsLfs2(flash, progsize=256)
    except Exception:  # of any kind, as on the Pico: a meter must start, with an empty flash if need be
        vfs.VfsLfs2.mkfs(flash, progsize=256)
        files = vfs.VfsLfs2(flash, progsize=256)
    vfs.mount(files, "/flash")
    return "/flash"
