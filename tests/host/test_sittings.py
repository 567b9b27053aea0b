"""Takes of bench and check: the ledger keeps them apart from surveys; and what the meter is sent for them."""

from pathlib import Path
from typing import Any

from reedbench.benchwork import work_of
from reedbench.firmware.wire import messages, record
from reedbench.hand.benched import keep_benched
from reedbench.ledger import Ledger
from shop import instrument
from test_host_ledger import SENDER, survey, take
from test_planning import Book, all_at

SITTING = {
    "instrument": "00112233445566aa", "name": "the tenor", "layout": "solo-12", "reeds": 48, "doing": 0,
    "pass_number": 1, "reference_mhz": 440000, "tolerance_cc": 300, "unix_s": 1_700_000_000,
}  # fmt: skip


def sitting(sequence: int, **values: Any) -> bytes:
    return bytes(record.pack("sitting", sequence, SITTING | values))


def test_takes_of_a_sitting_are_kept_and_are_in_no_survey(tmp_path: Path) -> None:
    strokes = record.pack("strokes", 4, {"sitting": 2, "ordinal": 5, "strokes": 7, "unix_s": 0})
    records = [survey(0), take(1, 5, 1), sitting(2), take(3, 5, 1, survey=2), strokes, take(5, 5, 2, survey=2)]
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        kept = ledger.keep(SENDER, records)
        assert (kept.records, kept.takes, kept.surveys, kept.sittings, kept.unread) == (6, 3, (1,), (1,), 0)
        assert [one.sequence for one in ledger.takes(1)] == [1], "the survey has its own take only"
        found = ledger.sitting(1)
    assert (found.doing, found.pass_number, found.takes, found.strokes, found.heard) == ("bench", 1, 2, 7, None)


def test_a_check_has_its_summary(tmp_path: Path) -> None:
    values = {"sitting": 0, "heard": 40, "off": 3, "moved": 2, "worst": 9, "worst_ccent": -1840, "unix_s": 0}
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        ledger.keep(SENDER, [sitting(0, doing=1), bytes(record.pack("checked", 1, values))])
        found = ledger.sitting(1)
    assert (found.doing, found.takes, found.heard, found.off, found.moved) == ("check", 0, 40, 3, 2)


def test_a_sitting_that_another_ledger_freed_leaves_its_takes_without_one(tmp_path: Path) -> None:
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        kept = ledger.keep(SENDER, [take(3, 5, 1, survey=2)])
        assert (kept.takes, kept.surveys, kept.sittings) == (1, (), ())


def test_the_meter_is_sent_plan_and_last_readings(tmp_path: Path) -> None:
    one = instrument()
    book = Book(tmp_path / "l.db", one)
    with Ledger.open(tmp_path / "l.db") as ledger:
        assert work_of(ledger, one) == [], "nothing is known before a survey"
    book.survey(all_at(0.0) | {3: -20.0, 7: 4.0})
    items = book.plan()
    with Ledger.open(tmp_path / "l.db") as ledger:
        work = {values["ordinal"]: values for values in work_of(ledger, one)}
    assert set(work) == set(range(48))
    for ordinal in (3, 7):
        assert work[ordinal]["order"] == items[ordinal].order > 0
        assert work[ordinal]["stop_ccent"] == round(100 * items[ordinal].stop_cents)
    assert work[3]["last_ccent"] == -2000 and work[3]["last_u95_ccent"] > 0
    assert work[0]["order"] == 0
    for values in work.values():
        messages.ask("work", values)


def counted(sequence: int, home: int, ordinal: int, strokes: int) -> bytes:
    values = {"sitting": home, "ordinal": ordinal, "strokes": strokes, "unix_s": 0}
    return bytes(record.pack("strokes", sequence, values))


def test_strokes_at_the_bench_are_those_of_the_pass_that_was_planned(tmp_path: Path) -> None:
    one = instrument()
    book = Book(tmp_path / "l.db", one)
    book.survey(all_at(0.0) | {3: -20.0, 7: 14.0})
    ours = {"instrument": one.key_id, "pass_number": 0}
    records = [sitting(0, **ours), counted(1, 0, 3, 6), counted(2, 0, 7, 4), counted(3, 0, 3, 2), counted(4, 0, 20, 9)]
    records += [sitting(5, **ours), counted(6, 5, 3, 1)]
    records += [sitting(7, instrument="nobody knows it"), counted(8, 7, 3, 1)]
    with Ledger.open(book.path, write=True) as ledger:
        kept = ledger.keep(SENDER, records)
        for _ in range(2):
            keep_benched(ledger, [ledger.sitting(number) for number in kept.sittings])
        assert ledger.strokes(1) == {(3, "raise"): 9, (7, "lower"): 4}, "reed 20 was not to be moved"
