"""Tries the flash: a journal of its own, a hundred takes, read back, torn on purpose, mended, removed.

mpremote run hardware/on_board/journal.py

On the board, with the firmware's files. The meter's own journal is not touched.
"""

# ruff: noqa: I001
import main  # noqa: F401 - it knows where the firmware lies
import os
import time

from board import power
from meter.journal import Journal
from meter.store import Store
from wire import record

TAKES = 100
ROOT = "/trial"


class Still:
    """No microphone runs while this does."""

    running = False


def take(number):
    """A take like any other, told apart by its `start`."""
    values = {}
    for name, code in record.TAKE:
        count = int(code[:-1]) if len(code) > 1 else 0
        values[name] = [number % 100] * count if count else 0
    values["start"] = number
    return values


def clear():
    """Removes what an earlier trial left."""
    for folder in (ROOT + "/journal", ROOT):
        try:
            for name in os.listdir(folder):
                os.remove(folder + "/" + name)
            os.rmdir(folder)
        except OSError:
            pass


def read_back(journal):
    """How many of the takes are there and sound."""
    sound, wanted = 0, journal.first_seq
    while wanted < journal.next_seq:
        data, following = journal.read(wanted, 2048)
        at = 0
        while at < len(data):
            kind, sequence, values = record.unpack(data, at)
            sound += kind == "take" and values["start"] == sequence
            at += record.measure(data, at)
        wanted = following
    return sound


clear()
os.mkdir(ROOT)
store = Store(ROOT, Still)
before = store.free()
journal = Journal(store, power.entropy)
longest = 0
began = time.ticks_ms()
for number in range(TAKES):
    then = time.ticks_us()
    journal.add("take", take(number))
    longest = max(longest, time.ticks_diff(time.ticks_us(), then))
span = time.ticks_diff(time.ticks_ms(), began)
print(f"{TAKES} takes written, {span // TAKES} ms each, {longest // 1000} ms at most")
print(f"{read_back(Journal(store, power.entropy))} read back sound")
newest = "journal/" + store.names("journal")[-1]
with store.writing() as pen:
    pen.append(newest, record.pack("take", TAKES, take(TAKES))[:100])
journal = Journal(store, power.entropy)
print(f"a torn one: {journal.torn} cut off, {read_back(journal)} sound, next {journal.next_seq}")
clear()
print(f"free before {before}, after {store.free()} bytes")
