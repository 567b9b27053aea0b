"""Runs on MicroPython: the whole desk meter, which sleeps after a minute; that cannot be chosen, but is read."""

import sys

import vfs
from boards import desk
from boards.desk import bench

sys.modules["board"] = desk
bench.set_up(sys.stdin.read())

from boards.desk import store  # noqa: E402

root = store.mount()
with open(root + "/settings", "w") as file:
    file.write("sleep_min=1\n")
vfs.umount(root)

import main  # noqa: E402

main.main()
