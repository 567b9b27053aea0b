"""A flash that wears out, or is full: what still goes is used, what does not is said, and nothing is tried for ever."""

from collections.abc import Iterator
from pathlib import Path

import cut_flash
import pytest
from cut_bench import Bench
from cut_day import REEDS, Diary

BLANK = b"\xff" * (cut_flash.SECTORS * cut_flash.SECTOR)
FAULT = "Memory fault"
FULL = "Memory full"

pytestmark = pytest.mark.usefixtures("micropython_program")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    yield bench
    bench.close()


def written(folder: Path, bench: Bench) -> bytes:
    """A flash with a survey begun on it, nothing of it pulled."""
    diary = Diary(bench, folder / "before", BLANK)
    diary.load("Bench tenor")
    for _ in range(3):
        diary.sound()
    return bench.off()


@pytest.mark.parametrize("every", [2, 3, 10])
def test_blocks_that_take_nothing_in_are_passed_over(bench: Bench, tmp_path: Path, every: int) -> None:
    """littlefs reads back what it has programmed. The first two blocks are its own and must be sound."""
    dead = dict.fromkeys(range(2, cut_flash.SECTORS, every), "dead")
    diary = Diary(bench, tmp_path / "day", BLANK, bad=dead)
    diary.load("Bench tenor")
    for _ in range(40):
        diary.sound()
    saved = diary.moments[-1].saved
    diary.pull()
    assert saved == 41 and len(diary.records()) == saved


def test_a_write_that_fails_is_said_once_and_the_take_asked_for_again(bench: Bench, tmp_path: Path) -> None:
    image = written(tmp_path, bench)
    # Whatever block is to be written next: each fails for this one life of the meter.
    bench.boot(image, bad=dict.fromkeys(range(cut_flash.SECTORS), "error"))
    for _ in range(5):
        before = bench.rest(0)["operations"]
        said = bench.sound()
        assert said["words"][0] == FAULT
        assert said["operations"] - before < 20, "it tries on and on"
    assert bench.off() == image
    bench.boot(image)
    assert FAULT not in bench.sound()["words"]


def test_single_blocks_that_fail_cost_a_sounding_and_no_take(bench: Bench, tmp_path: Path) -> None:
    image = written(tmp_path, bench)
    unused = [at for at in range(cut_flash.SECTORS) if not image[at * cut_flash.SECTOR :][:16].strip(b"\xff")]
    bad = dict.fromkeys(unused[::4], "error")
    diary = Diary(bench, tmp_path / "after", image, bad=bad)
    failed = 0
    for _ in range(30):
        failed += diary.sound()[0] == FAULT
    assert 0 < failed < 30
    saved = diary.moments[-1].saved
    diary.pull()
    assert len(diary.records()) == saved


def test_a_full_meter_says_so_and_overwrites_nothing(bench: Bench, tmp_path: Path) -> None:
    diary = Diary(bench, tmp_path / "day", BLANK)
    diary.load("Bench tenor")
    words: list[str] = []
    while FULL not in words:
        words = diary.sound(again=bool(words))
    full = diary.moments[-1]
    assert full.saved > 500
    for _ in range(3):
        assert FULL in diary.sound()
    assert diary.moments[-1] == full, "something was written, or counted as saved"
    diary.pull()
    assert len(diary.records()) == full.saved
    assert FULL not in diary.sound()
    diary.load("Second tenor")
    diary.sound()
    diary.pull()
    assert len(diary.records()) > full.saved
    assert diary.reeds() == REEDS
