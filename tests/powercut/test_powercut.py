"""The power goes at every single operation of the flash: every take that was shown as saved is there, once."""

import os
import random
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from tempfile import TemporaryDirectory

import cut_flash
import pytest
from cut_cases import Cuts

SAMPLE = 61  # a prime, so that the few cases of the sample fall on all kinds of operations
TWICE = len(cut_flash.WAYS)  # of so many cases one is cut again, at one of the hundreds of places there are

pytestmark = pytest.mark.usefixtures("micropython_program")


@pytest.fixture
def cuts(tmp_path: Path) -> Iterator[Cuts]:
    with Cuts(tmp_path) as cuts:
        yield cuts


def test_the_day_has_in_it_what_it_is_to_show(cuts: Cuts) -> None:
    erased = [operation.at for operation in cuts.day.operations if not operation.data]
    assert len(cuts.day.records) > 120
    assert len(erased) > cut_flash.SECTORS, "littlefs has not come round"
    assert max(erased.count(at) for at in set(erased)) >= 5, "no folder of littlefs was compacted"
    assert len({moment.ledger for moment in cuts.day.moments}) == 4, "the ledger has not committed three times"


def test_a_cut_leaves_what_the_chip_would_leave() -> None:
    image = b"\xff" * 4096 + bytes(range(256)) * 16
    program, erase = cut_flash.Operation(256, bytes(512)), cut_flash.Operation(4096, b"")
    for number in range(40):
        for operation in (program, erase):
            whole = bytearray(image)
            cut_flash.carry_out(whole, operation)
            for way in cut_flash.WAYS:
                torn = cut_flash.cut(image, operation, way, random.Random(number))
                assert torn[: operation.at] == image[: operation.at]
                assert torn[operation.end :] == image[operation.end :]
                for place in range(operation.at, operation.end):
                    changed, wanted = torn[place] ^ image[place], whole[place] ^ image[place]
                    assert changed & ~wanted == 0, f"{way} changes what the operation does not"
                assert (torn == image) == (way == "before") or way == "most"


def test_a_sample_of_single_cuts(cuts: Cuts) -> None:
    assert not [fault for name in cuts.names()[::SAMPLE] if (fault := cuts.fault(name))]


def test_a_sample_of_double_cuts(cuts: Cuts) -> None:
    assert not list(cuts.faults(f"{len(cuts.day.operations) // 2}.part", 10))


def run(task: tuple[int, int]) -> tuple[tuple[int, int, int], list[str]]:
    """((operations of the day, cuts, second cuts), faults) of one part of all cases."""
    part, parts = task
    faults = []
    with TemporaryDirectory() as folder, Cuts(Path(folder)) as cuts:
        names = list(enumerate(cuts.names()))[part::parts]
        double = 0
        for number, name in names:
            again = (number // TWICE + number) % TWICE == 0  # one way of each operation, another each time
            faults += cuts.faults(name, int(again))
            double += again
        return (len(cuts.day.operations), len(names), double), faults


@pytest.mark.exhaustive
@pytest.mark.timeout(3000)
def test_every_single_cut_and_a_second_one_after_each_operation(tally: Callable[[int, str], None]) -> None:
    parts = 8 * (os.cpu_count() or 1)
    with ProcessPoolExecutor(os.cpu_count()) as pool:
        done = list(pool.map(run, [(part, parts) for part in range(parts)]))
    operations, single, double = (sum(counts) for counts in zip(*(counts for counts, _ in done), strict=True))
    tally(operations // parts, "operations of the flash in a day of the meter")
    tally(single, "power cuts: before, inside and after each of them")
    tally(double, "second cuts, each in the recovery from one of those, one for each operation")
    assert not [fault for _, faults in done for fault in faults], "python tests/powercut NAME replays a case"
