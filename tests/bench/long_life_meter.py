"""Runs on MicroPython: years of a shop on the meter's own journal and shelf, with every erase counted.

Standard input is JSON: {"what": "wear" or "fill", "takes": how many, "pull_at": journal bytes left at which it is
pulled (0: after each survey), "flash": file to leave the flash in}.
"""

import binascii
import io
import json
import sys
import time
from array import array

del sys.path[0]  # where this file lies, beside a meter.py that would hide the firmware's own

from boards.desk import bench, flash  # noqa: E402
from boards.desk import store as board  # noqa: E402
from meter.journal import Journal  # noqa: E402
from meter.shelf import Shelf  # noqa: E402
from meter.store import Store  # noqa: E402
from quiet import Microphone, take  # noqa: E402
from wire import messages, record  # noqa: E402
from wire.errors import WireError  # noqa: E402

REEDS = 64
TAKES_OF_A_SURVEY = 140  # two of each reed, and some more


class Counting(flash.Flash):
    """A flash in memory; `erased`: how often each sector was, `read`: bytes read."""

    def __init__(self):
        self._image = io.BytesIO(b"\xff" * (flash.SECTOR * flash.SECTORS))
        self.erased = array("I", bytes(4 * flash.SECTORS))
        self.read = 0

    def readblocks(self, sector, buffer, offset=0):
        self.read += len(buffer)
        super().readblocks(sector, buffer, offset)

    def _erase(self, sector):
        self.erased[sector] += 1
        super()._erase(sector)

    def keep(self, path):
        with open(path, "wb") as file:
            file.write(self._image.getvalue())


INSTRUMENT = {
    "key": "0123456789abcdef", "name": "Bench tenor", "layout": "solo-16", "state": "covers off", "reeds": REEDS,
    "reference_mhz": 442000, "tolerance_cc": 200, "pass_number": 0,
}  # fmt: skip
REED = {"target_uhz": 440000000, "place": "12", "breath": "blow", "slide": "out", "plate": "upper", "member": ""}
SURVEY = {name: 0 for name, _ in record.SURVEY}
SURVEY.update(instrument=INSTRUMENT["key"], name=INSTRUMENT["name"], layout=INSTRUMENT["layout"], reeds=REEDS)


def load(shelf):
    """Sends an instrument, as the host does."""
    shelf.begin(INSTRUMENT)
    check = binascii.crc32(messages.ask("instrument", INSTRUMENT).encode())
    for i in range(REEDS):
        reed = REED.copy()
        reed["ordinal"] = i
        shelf.add(reed)
        check = binascii.crc32(messages.ask("reed", reed).encode(), check)
    shelf.end(check)


def work(told):
    chip = Counting()
    board.Flash = lambda path: chip
    bench.settings["flash"] = ""
    files = Store(board.mount(), Microphone())
    journal, shelf = Journal(files, lambda: 7), Shelf(files)
    journal.claim("0123456789abcdef0123456789abcdef")
    made = pulls = 0
    while made < told["takes"]:
        load(shelf)
        try:
            number = journal.add("survey", SURVEY)
            for i in range(min(TAKES_OF_A_SURVEY, told["takes"] - made)):
                journal.add("take", take(i))
                made += 1
                if i % 40 == 39:
                    journal.add("redo", {"survey": number, "ordinal": i})
            journal.add("end", {"survey": number, "unix_s": 0})
        except WireError as error:
            if told["what"] == "fill":
                break
            if error.code != "full":
                raise
        if told["what"] == "wear" and (not told["pull_at"] or journal.free() < told["pull_at"]):
            journal.reclaim(journal.next_seq)
            pulls += 1
    chip.read = 0
    began = time.ticks_us()
    journal = Journal(files, lambda: 8)
    scan_us = time.ticks_diff(time.ticks_us(), began)
    if told["flash"]:
        chip.keep(told["flash"])
    erased = sorted(chip.erased)
    return {
        "takes": made,
        "pulls": pulls,
        "records": journal.next_seq - journal.first_seq,
        "erased_most": erased[-1],
        "erased_median": erased[len(erased) // 2],
        "erased": sum(erased),
        "scan_us": scan_us,
        "scan_read": chip.read,
        "free": journal.free(),
    }


print(json.dumps(work(json.load(sys.stdin))))
