"""Every byte of a pull is spoiled once: both ends recover, and every record arrives once and is then freed."""

import os
import shutil
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from reedbench.errors import LinkFault, NoMeter
from reedbench.ledger import Ledger
from reedbench.link import Link, greet
from reedbench.pull import Pulled, pull
from spoiled import FAULTS, Bench, Spoiled

from cut_day import Diary  # isort: skip - found by way of spoiled

REEDS = 2
SAMPLE = 211  # a prime, so that the sample falls on bytes of all kinds
PATIENCE_S = 2.0

pytestmark = pytest.mark.usefixtures("micropython_program")


class Pulls:
    """A meter with a few takes, put back as it was for every pull. Use it in a `with` statement."""

    def __init__(self, folder: Path) -> None:
        self._bench = Bench(folder)
        diary = Diary(self._bench, folder / "day", b"\xff" * (64 * 4096))
        diary.load("Bench harp", "richter-10")  # a small one: the meter reads it for every case
        for _ in range(2 * REEDS):
            diary.sound()
        self._empty = diary.moments[-1].ledger
        self._flash = self._bench.off()
        self._path = folder / "ledger.db"
        self._boot()
        with Ledger.open(self._path, write=True) as ledger:
            cable = Spoiled(self._bench)
            self._pull(cable, ledger, repeat_s=1.0)  # patiently: no byte of it is an answer that came twice
            self.length = cable.passed
            self.records = _raw(ledger)
        assert len(self.records) == 2 * REEDS + 1
        self._bench.off()

    def __enter__(self) -> "Pulls":
        return self

    def __exit__(self, *_: object) -> None:
        self._bench.close()

    def _boot(self) -> None:
        shutil.copyfile(self._empty, self._path)
        self._bench.boot(self._flash)

    def _pull(self, cable: Spoiled, ledger: Ledger, repeat_s: float = 0.01) -> Pulled:
        link = Link(cable, repeat_s=repeat_s, patience_s=PATIENCE_S)  # type: ignore[arg-type]
        meter = greet(link, "cable", ledger.identity)
        link.request("clock", unix_s=1_700_000_000)
        return pull(meter, ledger)

    def fault(self, name: str) -> str:
        """What is wrong after byte `place` met `fault`, in the case "fault.place"; "" if nothing."""
        fault, _, place = name.partition(".")
        self._boot()
        broke = ""
        with Ledger.open(self._path, write=True) as ledger:
            try:
                self._pull(Spoiled(self._bench, fault, int(place)), ledger)
            except (LinkFault, NoMeter) as error:
                broke = str(error)
            had = _raw(ledger)
            if had != self.records[: len(had)]:
                return f"{name}: what had come is no beginning of what there is"
            if broke:
                self._pull(Spoiled(self._bench), ledger)
            with self._bench.conversation(ledger) as meter:
                left = meter.next_sequence - meter.first_sequence
            if _raw(ledger) != self.records:
                return f"{name}: records are missing, doubled or wrong"
        self._bench.send(b"\n")
        self._bench.off()
        if bool(broke) != (fault == "gone"):
            return f"{name}: {broke or 'the cable was pulled and nobody noticed'}"
        return f"{name}: {left} records are still in the meter" if left else ""

    def names(self) -> list[str]:
        return [f"{fault}.{place}" for place in range(self.length) for fault in FAULTS]


def _raw(ledger: Ledger) -> list[bytes]:
    return [bytes(row["raw"]) for row in ledger._all("SELECT raw FROM records ORDER BY meter, epoch, sequence")]


@pytest.fixture
def pulls(tmp_path: Path) -> Iterator[Pulls]:
    with Pulls(tmp_path) as pulls:
        yield pulls


def test_a_sample_of_spoiled_bytes(pulls: Pulls) -> None:
    assert not [fault for name in pulls.names()[::SAMPLE] if (fault := pulls.fault(name))]


def run(task: tuple[int, int]) -> tuple[int, list[str]]:
    part, parts = task
    with TemporaryDirectory() as folder, Pulls(Path(folder)) as pulls:
        names = pulls.names()[part::parts]
        return len(names), [fault for name in names if (fault := pulls.fault(name))]


@pytest.mark.exhaustive
@pytest.mark.timeout(3000)
def test_every_byte_in_every_way(tally: Callable[[int, str], None]) -> None:
    parts = 8 * (os.cpu_count() or 1)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        done = list(pool.map(run, [(part, parts) for part in range(parts)]))
    tally(sum(count for count, _ in done), "pulls, each with one byte spoiled in one way")
    assert not [fault for _, faults in done for fault in faults]
