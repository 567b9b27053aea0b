"""One case: the power goes at one operation of the day, perhaps again at one of the recovery. What is left then?

A case has a name that replays it: `412.bits` is the day cut in operation 412, `412.bits/3.part` the same with the
power gone again in operation 3 of what followed. `.venv/bin/python tests/powercut NAME` does that.
"""

import random
import re
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import cut_day
import cut_flash
from cut_bench import Bench
from cut_day import Day, Diary, Moment
from reedbench.errors import ReedbenchError
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger

_NAME = re.compile(r"(\d+)\.(\w+)(?:/(\d+)\.(\w+))?")
# What follows a cut: the meter goes on, is sent an instrument, and one reed of that is sounded and then redone.
_NEW = Counter(survey=1, take=4, redo=1)


class Cuts:
    """The day, lived once, and every case of it. Use it in a `with` statement; `folder` for its files."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._bench = Bench(folder)
        self.day = cut_day.live(self._bench, folder)
        self._image = bytearray(self.day.flash)  # after the first `_done` operations of the day
        self._done = 0
        self._once = ""  # the case whose recovery is in `_evening`
        self._evening = self.day

    def __enter__(self) -> "Cuts":
        return self

    def __exit__(self, *_: object) -> None:
        self._bench.close()

    def names(self) -> list[str]:
        """Every case with one cut, in the order in which they are run fastest."""
        return [f"{number}.{way}" for number in range(len(self.day.operations)) for way in cut_flash.WAYS]

    def fault(self, name: str) -> str:
        """What is lost, doubled or invented in the case `name`; "" if nothing."""
        try:
            self._run(name)
        except (AssertionError, ReedbenchError) as error:
            self._bench.close()
            self._bench = Bench(self._folder)
            return f"{name}: {error}"
        return ""

    def faults(self, name: str, count: int) -> Iterator[str]:
        """Faults of the case `name`, and of so many that cut the recovery from it as well, drawn by that name."""
        if fault := self.fault(name):
            yield fault
            return
        chance = random.Random(name)
        operations = len(self._evening.operations)
        for _ in range(count):
            then = f"{name}/{chance.randrange(operations)}.{chance.choice(list(cut_flash.WAYS))}"
            if fault := self.fault(then):
                yield fault

    def _run(self, name: str) -> Day:
        found = _NAME.fullmatch(name)
        assert found, f"{name} is no case"
        number, way, then, then_way = found.groups()
        once = f"{number}.{way}"
        if then is None or self._once != once:
            self._once = ""
            before = self._before(int(number))
            self._evening = self._after(self.day, before, int(number), way, self._folder / "once", once)
            self._once = once
        evening = self._evening
        if then is None:
            return evening
        image = bytearray(evening.flash)
        for operation in evening.operations[: int(then)]:
            cut_flash.carry_out(image, operation)
        return self._after(evening, bytes(image), int(then), then_way, self._folder / "twice", name)

    def _before(self, number: int) -> bytes:
        """The flash before operation `number` of the day; asked for in order, mostly."""
        if number < self._done:
            self._image, self._done = bytearray(self.day.flash), 0
        for operation in self.day.operations[self._done : number]:
            cut_flash.carry_out(self._image, operation)
        self._done = number
        return bytes(self._image)

    def _after(self, day: Day, image: bytes, number: int, way: str, folder: Path, name: str) -> Day:
        """Cuts `day` at operation `number`, before which its flash is `image`, and lives on from there."""
        before, after = day.around(number)
        torn = bytes(cut_flash.cut(image, day.operations[number], way, random.Random(name)))
        diary = Diary(self._bench, folder, torn, before)
        diary.pull()
        had = diary.records()
        _hold_basebands(diary)
        _hold_against(day, had, before, after)
        assert diary.moments[-1].loaded in (before.loaded, after.loaded), "the instrument is lost"
        assert diary.moments[-1].language in (before.language, after.language), "the setting is lost"
        diary.sound()
        diary.load("After the cut", "richter-10")  # a small one, since it is sent in every case
        diary.pull()
        before_new = len(diary.records())
        for again in (False, True, True, True):
            diary.sound(again=again)
        diary.pull()
        found = diary.records()
        assert Counter(record.unpack(raw)[0] for raw in found[before_new:]) == _NEW, "the meter does not go on as told"
        assert [record.sequence_of(raw) for raw in found] == list(range(len(found))), "a number is missing or doubled"
        return diary.end()


def _hold_basebands(diary: Diary) -> None:
    """Whatever the ledger has of two reeds belongs to a take that it has, and all of its harmonics are there."""
    with Ledger.open(diary.path) as ledger:
        for survey in ledger.surveys():
            both = [take.sequence for take in ledger.takes(survey.number) if "two-reeds" in take.flags]
            found = Counter(one.take for one in ledger.basebands(survey.number))
            assert found == dict.fromkeys(both, 3), f"takes of two reeds are {both}, their basebands {dict(found)}"


def _hold_against(day: Day, found: list[bytes], before: Moment, after: Moment) -> None:
    """What was shown as saved is there, once; of what was just being saved all, a beginning or nothing.

    A survey that was finished when the power went is ended as soon as it is back, perhaps as the day did it later.
    """
    ends = bool(found) and record.unpack(found[-1])[0] == "end"
    if ends and (len(found) > after.saved or found[-1] != day.records[len(found) - 1]):
        found = found[:-1]
    assert len(found) >= before.saved, f"{before.saved} records were shown as saved, {len(found)} are left"
    assert len(found) <= after.saved, f"{len(found)} records are there, only {after.saved} were made"
    for number, raw in enumerate(found):
        assert raw == day.records[number], f"record {number} is not the one that was made"
