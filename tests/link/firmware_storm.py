"""Runs on MicroPython: a storm of lines over the meter's own link, handlers, shelf and journal, on a real littlefs."""

import gc
import json
import sys

import dice
import storm
from boards.desk import bench
from wire import frames, messages

bench.settings.update(json.load(sys.stdin))

from boards.desk import store as board  # noqa: E402
from meter.answers import Answers  # noqa: E402
from meter.journal import Journal  # noqa: E402
from meter.link import Link  # noqa: E402
from meter.settings import Settings  # noqa: E402
from meter.shelf import Shelf  # noqa: E402
from meter.store import Store  # noqa: E402
from quiet import Microphone, take  # noqa: E402


class Clock:
    def ticks_ms(self):
        return 0

    def ticks_us(self):
        return 0

    def up_s(self):
        return 0

    def unix_s(self):
        return 0

    def set_unix(self, unix_s):
        pass


class Power:
    NAME = "storm"
    left = 0

    def serial(self):
        return "storm"

    def leave(self):
        Power.left += 1


class Port:
    def __init__(self):
        self.came = b""
        self.said = []

    def read(self):
        came, self.came = self.came, b""
        return came

    def write(self, data):
        self.said.append(data)


def hello(port, link, number):
    """The values of the meter's answer to a sound `hello`; the line before it, ended only now, may have one too."""
    port.came = b"\n" + frames.pack(number, messages.ask("hello", {"protocol": 1, "ledger": ""}))
    port.said = []
    while port.came:
        link.serve()
    assert len(port.said) <= 2
    answered, body = frames.unpack(port.said[-1])
    assert answered == number
    return messages.read_answer("hello", body)


def blow(start, end, seed):
    """(lines answered, least heap free, what hello said first and last) after lines `start` to `end` of a storm."""
    files = Store(board.mount(), Microphone())
    journal = Journal(files, lambda: 7)
    for i in range(40):
        journal.add("take", take(i))
    port = Port()
    answers = Answers(journal, Shelf(files), Settings(files), Clock(), Power(), "0", lambda: ("storm", 0, 0, False))
    link = Link(port, answers)
    chance = dice.Dice(seed)
    first = hello(port, link, 1)
    answered, least = 0, 1 << 30
    for number in range(start, end):
        line, _ = storm.thrown(number, seed)
        # Some lines come in two pieces, some without their end.
        cut = chance.below(len(line) + 1)
        for piece in (line[:cut], line[cut:] + (b"\n" if chance.below(20) else b"")):
            port.came = piece
            port.said = []
            answered += link.serve()
            for said in port.said:
                frames.unpack(said)
        if number % 500 == 0:
            hello(port, link, number & 0xFFFF)
            gc.collect()
            least = min(least, gc.mem_free())
    last = hello(port, link, 2)
    again = Journal(files, lambda: 8)
    assert (again.epoch, again.first_seq, again.next_seq) == (last["epoch"], last["first_seq"], last["next_seq"])
    return [answered, Power.left, least, first, last]


print(json.dumps(blow(bench.settings["start"], bench.settings["end"], bench.settings["seed"])))
