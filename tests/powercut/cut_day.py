"""What happens at the bench, and at each moment what the world has been told: a day, and what follows a cut."""

import shutil
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import cut_flash
from cut_bench import Bench
from reedbench import layouts
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger
from reedbench.load import load
from reedbench.pull import pull

SERIAL = "cut"
REEDS = 48
REDO_OVER_MS = 7000


@dataclass(frozen=True)
class Moment:
    """What was known when the flash had seen so many `operations`.

    saved: records that had been shown as saved. ledger: a copy of the host's as it was. loaded: reeds of the
    instrument that the meter had. language: that its screen spoke.
    """

    operations: int
    saved: int
    ledger: Path
    loaded: int
    language: int


@dataclass(frozen=True)
class Day:
    """From power on to power off: the flash before, what was done to it, and `records`: all there were at the end."""

    flash: bytes
    operations: Sequence[cut_flash.Operation]
    moments: Sequence[Moment]
    records: Sequence[bytes]

    def around(self, number: int) -> tuple[Moment, Moment]:
        """The last moment before operation `number` and the first after it."""
        before = [one for one in self.moments if one.operations <= number]
        after = [one for one in self.moments if one.operations > number]
        return before[-1], (after or self.moments)[-len(after)]


class Diary:
    """Lets things happen to a meter, from the power coming on, and notes every moment.

    `folder`: for the ledger and its copies. `before`: what was known when the power went, if it did. `bad`: sectors
    that are, as in cut_meter.py.
    """

    def __init__(
        self,
        bench: Bench,
        folder: Path,
        image: bytes,
        before: Moment | None = None,
        bad: dict[int, str] | None = None,
    ) -> None:
        self._bench = bench
        self._folder = folder
        self._image = image
        folder.mkdir(exist_ok=True)
        self.path = folder / "ledger.db"
        if before:
            shutil.copyfile(before.ledger, self.path)
        else:
            Ledger.open(self.path, write=True).__exit__(None, None, None)
        self._now = replace(before, operations=0) if before else Moment(0, 0, self._copy(0), 0, 0)
        self.moments = [self._now]
        bench.boot(image, bad)
        self._note(loaded=self.reeds())

    def _copy(self, number: int) -> Path:
        return Path(shutil.copyfile(self.path, self._folder / f"ledger-{number}.db"))

    def _note(self, **changed: Any) -> None:
        said = self._bench.rest(0)
        self._now = replace(self._now, operations=said["operations"], language=said["language"], **changed)
        self.moments.append(self._now)

    def _saved(self) -> int:
        with self._bench.conversation(None) as meter:
            return meter.next_sequence

    def sound(self, cents: float = 3.0, flags: Sequence[str] = (), again: bool = False) -> list[str]:
        """What the screen says when the reed has sounded."""
        words: list[str] = self._bench.sound(cents, flags, again)["words"]
        self._note(saved=self._saved())
        return words

    def rest(self) -> None:
        self._bench.rest(REDO_OVER_MS)
        self._note(saved=self._saved())

    def turn_language(self) -> None:
        there = ("do", "hold"), ("up", "tap"), ("do", "tap")  # the settings are the menu's last line
        turn = ("do", "tap"), ("up", "tap"), ("do", "tap")
        back = ("do", "hold"), ("down", "tap"), ("do", "tap"), ("do", "tap")
        self._bench.rest(0, *there, *turn, *back)
        self._note()

    def load(self, name: str, layout: str = "solo-12") -> None:
        with self._bench.conversation(None) as meter:
            stored = load(meter.link, instrument(name, layout), "covers off", 0)
        self._note(loaded=stored)

    def pull(self) -> None:
        """Two moments: the ledger has committed, the meter has freed."""
        with Ledger.open(self.path, write=True) as ledger, self._bench.conversation(ledger) as meter:
            asked = meter.link.request

            def request(name: str, /, **values: Any) -> dict[str, Any]:
                if name == "acknowledge":
                    self._note(saved=meter.next_sequence, ledger=self._copy(len(self.moments)))
                return asked(name, **values)

            meter.link.request = request  # type: ignore[method-assign]
            assert pull(meter, ledger).missing == 0
        self._note()

    def visit(self) -> None:
        """Another laptop pulls; the meter frees nothing for it."""
        with Ledger.open(self._folder / "visitor.db", write=True) as ledger, self._bench.conversation(ledger) as meter:
            pull(meter, ledger)
        self._note()

    def reeds(self) -> int:
        """Of the instrument in the meter."""
        with self._bench.conversation(None) as meter:
            return int(meter.link.request("status")["of"])

    def records(self) -> list[bytes]:
        """The meter's records in the ledger, by number."""
        with Ledger.open(self.path) as ledger:
            found = ledger._all(
                "SELECT raw FROM records JOIN meters ON meters.id = meter WHERE serial = ? ORDER BY epoch, sequence",
                (SERIAL,),
            )
        return [bytes(row["raw"]) for row in found]

    def end(self) -> Day:
        """Power off."""
        self._bench.off()
        return Day(self._image, list(cut_flash.read_log(self._bench.log)), self.moments, self.records())


def instrument(name: str, layout: str = "solo-12") -> Instrument:
    """An instrument of REEDS reeds, or of another layout."""
    return Instrument("00000000000000aa", name, layouts.load(layout))


def live(bench: Bench, folder: Path) -> Day:
    """A survey with everything that may happen in one, on a flash that has never been used."""
    diary = Diary(bench, folder, b"\xff" * (cut_flash.SECTORS * cut_flash.SECTOR))
    for step, *values in _steps():
        getattr(diary, step)(*values)
    return diary.end()


def _steps() -> Iterator[tuple[Any, ...]]:
    yield "load", "Bench tenor"
    for reed in range(REEDS):
        if reed % 3 == 0:
            yield "sound", 3.0, ["two-reeds" if reed % 12 else "unsteady"]
        yield "sound", 3.0
        yield "sound", 3.1
        if reed in (5, 30, REEDS - 1):  # the reed just done once more, which withdraws its takes
            yield "sound", 3.4, (), True
            yield "sound", 3.5, (), True
        if reed in (2, 35):
            yield ("turn_language",)
        if reed == 6:
            yield ("pull",)
        if reed == 20:
            yield ("visit",)
    yield ("rest",)
    yield ("pull",)
    yield "load", "Second tenor"
    yield "sound", 3.0
    yield "sound", 3.0
    yield ("pull",)
