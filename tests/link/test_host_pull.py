"""Pulls over a real pty from the meter's own firmware: whatever happens, every record arrives once."""

import random
import sqlite3
from contextlib import contextmanager

import pytest
from host_cable import Cable, Firmware, whole
from reedbench.errors import Failed, LinkFault, NoMeter
from reedbench.ledger import Ledger
from reedbench.link import Link, converse, greet
from reedbench.port import open_port
from reedbench.pull import pull

REEDS = 12
RECORDS = 1 + 2 * REEDS + 2 + 1  # the survey's own, takes, redo and its take, end
TAKES = 2 * REEDS + 1


@pytest.fixture
def firmware(tmp_path):
    root = tmp_path / "meter"
    root.mkdir()
    meter = Firmware(root, REEDS)
    yield meter
    meter.close()


@contextmanager
def quick(cable, ledger):
    """A conversation that repeats a lost line sooner than a real one, so that the tests need not wait."""
    with open_port(cable.port) as port:
        yield greet(Link(port, repeat_s=0.05, patience_s=3), cable.port, ledger.identity)


def raw_records(path):
    with sqlite3.connect(path) as connection:
        return b"".join(row[0] for row in connection.execute("SELECT raw FROM records ORDER BY sequence"))


def test_everything_arrives_once_and_is_then_freed(firmware, tmp_path):
    path = tmp_path / "ledger.db"
    with Cable(firmware) as cable, Ledger.open(path, write=True) as ledger:
        with converse(cable.port, ledger.identity) as meter:
            journal = firmware.journal()
            pulled = pull(meter, ledger)
        assert (pulled.kept.records, pulled.kept.takes, pulled.kept.surveys) == (RECORDS, TAKES, (1,))
        assert (pulled.missing, pulled.kept.unread) == (0, 0)
        assert raw_records(path) == journal
        assert pulled.freed == len(journal)
        assert firmware.journal() == b""
        takes = ledger.takes(1)
    assert [take.hz for take in takes if take.ordinal == 5] == [440.005001, 440.005002]
    assert [(take.number, take.withdrawn) for take in takes if take.ordinal == 1] == [
        (1, True),
        (2, True),
        (3, False),
    ]


def test_a_second_pull_brings_nothing_and_changes_nothing(firmware, tmp_path):
    path = tmp_path / "ledger.db"
    with Cable(firmware) as cable, Ledger.open(path, write=True) as ledger:
        for records in (RECORDS, 0, 0):
            before = raw_records(path)
            with converse(cable.port, ledger.identity) as meter:
                assert pull(meter, ledger).kept.records == records
        assert raw_records(path) == before


def test_a_pull_goes_on_from_every_point_at_which_the_cable_is_pulled(firmware, tmp_path):
    path = tmp_path / "ledger.db"
    journal = b""
    broken = 0
    for last in range(100):

        def cut(line, count, last=last):
            return None if count >= last else line

        with Ledger.open(path, write=True) as ledger:
            with Cable(firmware, to_host=cut) as cable:
                try:
                    with quick(cable, ledger) as meter:
                        journal = journal or firmware.journal()
                        pull(meter, ledger)
                    break
                except (LinkFault, NoMeter):  # answers to the one before may pull it even before the port is open
                    broken += 1
            # What is kept so far is a beginning of the journal, whole records in order.
            assert journal.startswith(raw_records(path))
    assert broken >= 2
    assert raw_records(path) == journal


@pytest.mark.parametrize("part", [1, 40, 500, 900])
def test_a_line_cut_off_in_the_middle_loses_nothing(firmware, tmp_path, part):
    path = tmp_path / "ledger.db"
    answers = set()  # different ones: on a slow machine the host asks again and some come twice
    done = []

    def cut(line, count):
        if done:
            return None
        if b" ok records=" in line:
            answers.add(line)
        if len(answers) < 3:
            return line
        done.append(line)
        return line[:part]

    with Ledger.open(path, write=True) as ledger:
        with Cable(firmware, to_host=cut) as cable, pytest.raises(LinkFault), quick(cable, ledger) as meter:
            journal = firmware.journal()
            pull(meter, ledger)
        assert 0 < len(raw_records(path)) < len(journal)
        with Cable(firmware) as cable, quick(cable, ledger) as meter:
            pull(meter, ledger)
    assert raw_records(path) == journal


def lose(line, chance):
    return b"" if chance.random() < 0.2 else line


def double(line, chance):
    return line + line if chance.random() < 0.3 else line


def flip(line, chance):
    if chance.random() > 0.2:
        return line
    at = chance.randrange(len(line))
    return line[:at] + bytes((line[at] ^ 1 << chance.randrange(8),)) + line[at + 1 :]


def join(line, chance):
    return line[:-1] if chance.random() < 0.1 else line


@pytest.mark.parametrize("fault", [lose, double, flip, join])
@pytest.mark.parametrize("direction", ["to_meter", "to_host"])
def test_spoiled_lines_are_asked_for_again(firmware, tmp_path, fault, direction):
    chance = random.Random(f"{fault.__name__} {direction}")
    path = tmp_path / "ledger.db"
    spoiled = 0
    journal = b""

    def spoil(line, count):
        nonlocal spoiled
        passed = fault(line, chance)
        spoiled += passed != line
        return passed

    with Cable(firmware, **{direction: spoil}) as cable, Ledger.open(path, write=True) as ledger:
        while not spoiled:
            with quick(cable, ledger) as meter:
                journal = firmware.journal() or journal  # empty once a pull has freed it
                pulled = pull(meter, ledger)
                assert pulled.missing == 0
    assert raw_records(path) == journal


def test_a_second_ledger_reads_but_does_not_free(firmware, tmp_path):
    with Cable(firmware) as cable:
        with (
            Ledger.open(tmp_path / "home.db", write=True) as home,
            converse(cable.port, home.identity) as meter,
        ):
            # The home ledger claims the meter but is stopped before it has pulled.
            meter.link.request("acknowledge", ledger=home.identity, before_seq=0)
            journal = firmware.journal()
        other_path = tmp_path / "other.db"
        with Ledger.open(other_path, write=True) as other, converse(cable.port, other.identity) as meter:
            pulled = pull(meter, other)
            assert (pulled.kept.records, pulled.freed) == (RECORDS, 0)
            assert meter.home == home.identity
        assert firmware.journal() == journal == raw_records(other_path)
        with (
            Ledger.open(tmp_path / "home.db", write=True) as home,
            converse(cable.port, home.identity) as meter,
        ):
            assert pull(meter, home).freed == len(journal)
        assert raw_records(tmp_path / "home.db") == journal


def test_records_that_another_ledger_had_freed_are_counted_as_missing(firmware, tmp_path):
    with Cable(firmware) as cable:
        with (
            Ledger.open(tmp_path / "home.db", write=True) as home,
            converse(cable.port, home.identity) as meter,
        ):
            pull(meter, home)
        with (
            Ledger.open(tmp_path / "late.db", write=True) as late,
            converse(cable.port, late.identity) as meter,
        ):
            pulled = pull(meter, late)
    assert (pulled.kept.records, pulled.missing) == (0, RECORDS)


def test_nothing_is_freed_when_the_ledger_cannot_commit(firmware, tmp_path, monkeypatch):
    path = tmp_path / "ledger.db"
    asked = []

    def note(line, count):
        asked.append(line.split(b" ")[1])
        return whole(line, count)

    with Cable(firmware, to_meter=note) as cable, Ledger.open(path, write=True) as ledger:
        with sqlite3.connect(path) as other:
            other.execute("CREATE TRIGGER full BEFORE INSERT ON ends BEGIN SELECT RAISE(ABORT, 'no room'); END")
        with converse(cable.port, ledger.identity) as meter, pytest.raises(Failed):
            pull(meter, ledger)
        assert raw_records(path) == b""
    assert b"pull" in asked and b"acknowledge" not in asked
    assert len(firmware.journal()) > 0


def test_an_unplug_after_the_commit_loses_nothing_and_the_next_pull_frees(firmware, tmp_path):
    path = tmp_path / "ledger.db"

    def cut(line, count):
        return None if b" acknowledge " in line else line

    with Ledger.open(path, write=True) as ledger:
        with (
            Cable(firmware, to_meter=cut) as cable,
            converse(cable.port, ledger.identity) as meter,
            pytest.raises(LinkFault, match=f"{RECORDS} new records are safe"),
        ):
            pull(meter, ledger)
        journal = firmware.journal()
        assert raw_records(path) == journal
        with Cable(firmware) as cable, converse(cable.port, ledger.identity) as meter:
            pulled = pull(meter, ledger)
    assert (pulled.kept.records, pulled.freed) == (0, len(journal))


def test_a_pull_stopped_by_hand_keeps_what_has_come(firmware, tmp_path):
    path = tmp_path / "ledger.db"

    def stop(done):
        if done == 10:
            raise KeyboardInterrupt

    with Cable(firmware) as cable, Ledger.open(path, write=True) as ledger:
        with converse(cable.port, ledger.identity) as meter:
            journal = firmware.journal()
            with pytest.raises(KeyboardInterrupt):
                pull(meter, ledger, stop)
        assert len(ledger.takes(1)) == 10 - 1 - 1  # the survey's own record and the redo are no takes
        with converse(cable.port, ledger.identity) as meter:
            assert pull(meter, ledger).kept.records == RECORDS - 10
    assert raw_records(path) == journal
