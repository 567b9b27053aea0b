"""Runs on MicroPython: a board at its prompt, on a flash in memory that notes every erase and program.

One line of JSON on standard input is one thing that happens, and is answered by one.

    {"image": FILE, "log": FILE}   the power comes on; the flash comes from the one file; both are written when the
                                   power goes
    {"exec": CODE}                 at the prompt: {"out": what it prints} or {"fault": the traceback}
    {"boot": 0}                    the board's own program runs: {"runs": what it calls itself}
    {"full": 0}                    the journal is filled, then the largest instrument is loaded twice: {"takes": N}
    {"pulled": N}                  the home ledger has the records before N
    {"off": 0}                     the power goes; the flash and what was done to it go into the files
"""

import binascii
import io
import json
import os
import struct
import sys

import vfs

del sys.path[0]
sys.path[:0] = sys.argv[1:]

import meter.delivery  # noqa: E402, F401 - the shelf asks for it when an instrument comes, and then it is out of reach
from boards.desk import flash  # noqa: E402
from meter.journal import Journal  # noqa: E402
from meter.shelf import Shelf  # noqa: E402
from meter.store import Store  # noqa: E402
from quiet import Microphone, take  # noqa: E402
from wire import messages  # noqa: E402
from wire.errors import WireError  # noqa: E402

OP = "<BHHH"  # as in cut_flash.py: erase 0 or program 1, sector, offset, length; the bytes programmed follow


class Flash(flash.Flash):
    def __init__(self, image, log):
        self._image = io.BytesIO(image)
        self._sectors = len(image) // flash.SECTOR
        self._log = log

    def image(self):
        return self._image.getvalue()

    def writeblocks(self, sector, data, offset=0):
        self._log.write(struct.pack(OP, 1, sector, offset, len(data)))
        self._log.write(data)
        super().writeblocks(sector, data, offset)

    def ioctl(self, request, argument):
        if request == 4:
            return self._sectors
        if request == 6:
            self._log.write(struct.pack(OP, 0, argument, 0, 0))
        return super().ioctl(request, argument)


class Board:
    def on(self, told):
        self.told = told
        image = bytearray(os.stat("/computer" + told["image"])[6])
        with open("/computer" + told["image"], "rb") as file:
            file.readinto(image)  # `read` takes a hundred times as long
        self.log = io.BytesIO()
        self.flash = Flash(image, self.log)
        try:  # the rule of the Pico's own _boot.py
            files = vfs.VfsLfs2(self.flash, progsize=256)
        except Exception:
            vfs.VfsLfs2.mkfs(self.flash, progsize=256)
            files = vfs.VfsLfs2(self.flash, progsize=256)
        vfs.mount(files, "/")
        self.printed = []
        self.names = {"print": self.print}
        return {}

    def off(self, told):
        if "f" in self.names:  # a file that mpremote was writing; a board closes it when it is started anew
            self.names["f"].close()
        vfs.umount("/")
        with open("/computer" + self.told["log"], "wb") as file:
            file.write(self.log.getvalue())
        with open("/computer" + self.told["image"], "wb") as file:
            file.write(self.flash.image())
        return {}

    def print(self, *words, end="\n"):
        self.printed.append(" ".join([str(word) for word in words]) + end)

    def exec(self, told):
        del self.printed[:]
        try:
            exec(told["exec"], self.names)
        except Exception as error:
            text = io.StringIO()
            sys.print_exception(error, text)
            return {"fault": text.getvalue()}
        return {"out": "".join(self.printed)}

    def boot(self, told):
        modules, path = dict(sys.modules), list(sys.path)
        sys.modules.clear()
        sys.path[:] = ["", "/lib"]
        try:
            with open("/main.py") as file:
                names = {"__name__": "__main__"}
                exec(file.read(), names)
            return {"runs": names["reedmeter"].runs}
        except Exception as error:
            return {"runs": repr(error)}
        finally:
            sys.modules.update(modules)
            sys.path[:] = path

    def full(self, told):
        store = Store("", Microphone())
        journal = Journal(store, lambda: 7)
        takes = 0
        try:
            while True:
                journal.add("take", take(takes))
                takes += 1
        except WireError:
            pass
        for _ in range(2):
            largest(Shelf(store))
        return {"takes": takes}

    def pulled(self, told):
        journal = Journal(Store("", Microphone()), lambda: 7)
        journal.reclaim(told["pulled"])
        return {}


def largest(shelf):
    """Loads an instrument as long as any that is real, with work on every reed: an accordion with many banks."""
    facts = {"key": "k" * 16, "name": "n" * 40, "layout": "l" * 32, "state": "assembled", "reeds": 480}
    facts.update(reference_mhz=440000, tolerance_cc=100, pass_number=0)
    check = binascii.crc32(messages.ask("instrument", facts).encode())
    shelf.begin(facts)
    for i in range(480):
        reed = {"ordinal": i, "target_uhz": 1000000000, "place": str(i % 60), "breath": "push"}
        reed.update(slide="", plate="block4", member="M")
        check = binascii.crc32(messages.ask("reed", reed).encode(), check)
        shelf.add(reed)
    for i in range(480):
        work = {"ordinal": i, "order": i, "stop_ccent": -1000, "last_ccent": -1000, "last_u95_ccent": 100}
        check = binascii.crc32(messages.ask("work", work).encode(), check)
        shelf.add_work(work)
    shelf.end(check)


vfs.umount("/")
vfs.mount(vfs.VfsPosix("/"), "/computer")
board = Board()
while True:
    line = sys.stdin.readline()
    if not line:
        break
    told = json.loads(line)
    for name in ("exec", "boot", "full", "pulled", "off"):
        if name in told:
            answer = getattr(board, name)(told)
            break
    else:
        answer = board.on(told)
    print(json.dumps(answer))
