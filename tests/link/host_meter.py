"""Runs on MicroPython: the firmware's link, journal and shelf, on stdin and stdout instead of USB.

Arguments: firmware folder, folder for the store, reeds to fill a new journal with. Of each reed there are two
takes; reed 1 was redone.
"""

import os
import sys
import time

firmware, root, reeds = sys.argv[1], sys.argv[2], int(sys.argv[3])
sys.path.insert(0, firmware)

from meter.answers import Answers  # noqa: E402
from meter.journal import Journal  # noqa: E402
from meter.link import Link  # noqa: E402
from meter.settings import Settings  # noqa: E402
from meter.shelf import Shelf  # noqa: E402
from meter.store import Store  # noqa: E402
from wire import record  # noqa: E402


class Flash(Store):
    def free(self):
        return 1400000  # this folder has the free space of a whole disk, which no meter reports


class Microphone:
    running = False


class Clock:
    def __init__(self):
        self._unix_s = 0

    def ticks_ms(self):
        return 1234

    def ticks_us(self):
        return int(1e6 * time.time()) % (1 << 30)

    def up_s(self):
        return 1234

    def unix_s(self):
        return self._unix_s

    def set_unix(self, unix_s):
        self._unix_s = unix_s


class Power:
    NAME = "bench"

    def serial(self):
        return "e6614103e7452d2f"

    def leave(self):
        sys.exit()


class Port:
    def read(self):
        data = sys.stdin.buffer.readline()
        if not data:
            sys.exit()
        return data

    def write(self, data):
        sys.stdout.buffer.write(data)


def take(survey, ordinal, number):
    values = {name: 0 for name, _ in record.TAKE}
    values.update(
        survey=survey,
        ordinal=ordinal,
        number=number,
        span=8000,
        rate=16000,
        uhz=440000000 + 1000 * ordinal + number,
        se_mcent=50,
        board_dc=record.NO_TEMPERATURE,
        trace_ccent=[ordinal - 5] * record.TRACE_POINTS,
        trace_level_qdb=[-number] * record.TRACE_POINTS,
    )
    return values


def fill(journal):
    survey = journal.add(
        "survey",
        {
            "instrument": "00112233445566aa",
            "name": "the tenor",
            "layout": "solo-12",
            "reeds": 48,
            "state": 0,
            "pass_number": 0,
            "reference_mhz": 442000,
            "tolerance_cc": 200,
            "unix_s": 1700000000,
        },
    )
    for ordinal in range(reeds):
        for number in (1, 2):
            journal.add("take", take(survey, ordinal, number))
        if ordinal == 1:
            journal.add("redo", {"survey": survey, "ordinal": ordinal})
            journal.add("take", take(survey, ordinal, 3))
    journal.add("end", {"survey": survey, "unix_s": 0})


store = Flash(root, Microphone())
journal = Journal(store, lambda: int.from_bytes(os.urandom(4), "little"))
if journal.next_seq == 0 and reeds:
    fill(journal)
answers = Answers(journal, Shelf(store), Settings(store), Clock(), Power(), "0.1.0", lambda: ("idle", 0, 0, False))
link = Link(Port(), answers)
while True:
    link.serve()
