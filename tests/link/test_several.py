"""Several meters, several laptops, a meter that was wiped: nothing collides, and only home frees memory."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from reedbench.commands import find
from reedbench.errors import LinkFault
from reedbench.ledger import Ledger
from reedbench.link import Meter
from reedbench.load import load
from reedbench.pull import Pulled, pull
from spoiled import Bench

from cut_day import instrument  # isort: skip - found by way of spoiled

BLANK = b"\xff" * (64 * 4096)
pytestmark = pytest.mark.usefixtures("micropython_program")


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    bench = Bench(tmp_path)
    bench.boot(BLANK)
    yield bench
    bench.close()


@pytest.fixture
def told(bench: Bench) -> Callable[[Path], tuple[int, int, bool]]:
    """Function: (records in the meter, those that the ledger at a path lacks, whether it is home), as `find` says."""

    def ask(path: Path) -> tuple[int, int, bool]:
        with bench.conversation(None) as meter:
            identity, (to_pull,) = find._known(path, [meter])
            said = find._as_dict(meter, identity, to_pull)
            return said["records"], said["to_pull"], said["is_home"]  # type: ignore[return-value]

    return ask


def pulled(bench: Bench, path: Path) -> Pulled:
    with Ledger.open(path, write=True) as ledger, bench.conversation(ledger) as meter:
        return pull(meter, ledger)


def held(path: Path) -> list[tuple[int, int]]:
    """(epoch, number) of all records in the ledger."""
    with Ledger.open(path) as ledger:
        rows = ledger._all("SELECT epoch, sequence FROM records ORDER BY epoch, sequence")
    return [(row["epoch"], row["sequence"]) for row in rows]


def begin(bench: Bench, takes: int) -> None:
    """A survey of so many takes: one record more."""
    with bench.conversation(None) as meter:
        load(meter.link, instrument("Bench tenor"), "covers off", 0)
    for _ in range(takes):
        bench.sound()


def test_only_the_home_ledger_frees_and_each_is_told_what_it_lacks(
    bench: Bench, tmp_path: Path, told: Callable[[Path], tuple[int, int, bool]]
) -> None:
    home, other = tmp_path / "home.db", tmp_path / "other.db"
    begin(bench, 5)
    assert told(home) == (6, 6, False)
    assert pulled(bench, home).freed > 0
    assert told(home) == (0, 0, True)
    bench.sound()
    bench.sound()
    assert (told(home), told(other)) == ((2, 2, True), (2, 2, False))
    visit = pulled(bench, other)
    assert (visit.kept.records, visit.missing, visit.freed) == (2, 6, 0)
    assert (told(home), told(other)) == ((2, 2, True), (2, 0, False))
    assert pulled(bench, home).freed > 0
    assert told(home) == (0, 0, True)
    assert [number for _, number in held(home)] == list(range(8))


def test_a_wiped_meter_begins_another_journal_and_collides_with_nothing(bench: Bench, tmp_path: Path) -> None:
    path = tmp_path / "home.db"
    begin(bench, 3)
    pulled(bench, path)
    before = held(path)
    bench.off()
    bench.boot(BLANK)
    begin(bench, 2)
    assert pulled(bench, path).kept.records == 3
    after = held(path)
    assert set(before) < set(after) and len(after) == len(before) + 3
    with bench.conversation(None) as meter, Ledger.open(path) as ledger:
        assert meter.home == ledger.identity, "the wiped meter has no home again"
        assert len(ledger.surveys()) == 2


def test_a_flash_put_back_from_a_copy_is_refused_and_nothing_freed(bench: Bench, tmp_path: Path) -> None:
    path = tmp_path / "home.db"
    begin(bench, 2)
    copy = bench.off()
    bench.boot(copy)
    bench.sound()
    pulled(bench, path)
    bench.off()
    bench.boot(copy)
    with pytest.raises(LinkFault, match="older copy"):
        pulled(bench, path)
    bench.sound(7.0)  # the copy goes on, and soon has more records than the ledger
    bench.sound(7.0)
    with pytest.raises(LinkFault, match="other content"):
        pulled(bench, path)
    with bench.conversation(None) as meter:
        assert meter.records_from(0) == 5, "something was freed"


def test_a_reading_of_the_meter_by_nobody_changes_nothing(bench: Bench) -> None:
    def seen() -> Meter:
        with bench.conversation(None) as meter:
            return meter

    begin(bench, 2)
    first = seen()
    again = seen()
    assert (first.next_sequence, first.free_bytes, first.home) == (again.next_sequence, again.free_bytes, again.home)
    assert first.home == ""
