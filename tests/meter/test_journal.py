"""The journal: what was added is there, whatever happens in between, and no number is given twice."""

import shutil
from pathlib import Path
from typing import Any

import pytest
from reedbench.firmware.wire import record

START = """
from meter.journal import Journal
from meter.store import Store
from wire.errors import WireError
from quiet import Microphone, take

def begin(root, epoch=0x01020304):
    return Journal(Store(root, Microphone()), lambda: epoch)

def everything(journal, room=684, from_seq=0):
    data = b""
    while True:
        piece, from_seq = journal.read(from_seq, room)
        if not piece:
            return data, from_seq
        data += piece

def numbers(journal):
    data, _ = everything(journal)
    found = []
    while data:
        from wire import record
        found.append(record.sequence_of(data))
        data = data[record.measure(data):]
    return found
"""


def sequences(data: bytes) -> list[int]:
    found = []
    while data:
        assert record.measure(data), "not a whole record"
        found.append(record.unpack(data)[1])
        data = data[record.measure(data) :]
    return found


def segments(root: Path) -> list[Path]:
    return sorted(file for file in (root / "journal").iterdir() if len(file.name) == 8)


@pytest.fixture
def filled(micropython: Any, tmp_path: Path) -> Path:
    """A journal of 250 takes in a plain folder."""
    root = tmp_path / "filled"
    root.mkdir()
    micropython(START + "j = begin(values)\nfor i in range(250): j.add('take', take(i))\nprint(0)", str(root))
    return root


def test_what_was_added_comes_back_and_again_after_a_restart(micropython: Any, tmp_path: Path) -> None:
    first, again, after, facts = micropython(
        START
        + """
import binascii
text = lambda journal, room: binascii.hexlify(everything(journal, room)[0]).decode()
journal = begin(values)
given = [journal.add("take", take(i)) for i in range(230)]
given.append(journal.add("end", {"survey": 3, "unix_s": 5}))
first = text(journal, 684)
reopened = begin(values, 99)
facts = [given == list(range(231)), reopened.epoch, reopened.next_seq, reopened.first_seq, reopened.torn]
print(json.dumps([first, text(reopened, 200), text(reopened, 3000), facts]))
""",
        str(tmp_path),
    )
    assert first == again == after
    assert facts == [True, 0x01020304, 231, 0, 0]
    data = bytes.fromhex(first)
    assert sequences(data) == list(range(231))
    kind, _, values = record.unpack(data, 229 * record.measure(data))
    assert (kind, values["ordinal"], values["uhz"]) == ("take", 229, 440000229)
    assert values["trace_ccent"] == [29 - i for i in range(32)]
    assert len(segments(tmp_path)) == 3
    assert all(15_000 < file.stat().st_size <= 16_368 for file in segments(tmp_path)[:-1])


def test_reading_may_begin_anywhere_and_says_where_to_go_on(micropython: Any, filled: Path) -> None:
    found = micropython(
        START
        + """
journal = begin(values)
found = []
for number in (0, 1, 95, 96, 97, 249, 250, 251, 7):
    data, then = journal.read(number, 684)
    from wire import record
    found.append([record.sequence_of(data) if data else None, len(data) // 169, then])
try:
    journal.read(0, 168)
except WireError as error:
    found.append(error.code)
print(json.dumps(found))
""",
        str(filled),
    )
    assert found == [
        [0, 4, 4],
        [1, 4, 5],
        [95, 4, 99],
        [96, 4, 100],
        [97, 4, 101],
        [249, 1, 250],
        [None, 0, 250],
        [None, 0, 250],
        [7, 4, 11],
        "bad",
    ]


def test_a_tail_torn_at_any_byte_is_cut_and_counted_once(micropython: Any, tmp_path: Path) -> None:
    whole = tmp_path / "whole"
    whole.mkdir()
    micropython(START + "j = begin(values)\nfor i in range(3): j.add('take', take(i))\nprint(0)", str(whole))
    size = segments(whole)[0].stat().st_size
    length = size // 3
    roots = []
    for missing in range(1, length):
        root = tmp_path / f"torn-{missing}"
        shutil.copytree(whole, root)
        with segments(root)[0].open("r+b") as file:
            file.truncate(size - missing)
        roots.append(str(root))
    found = micropython(
        START
        + """
found = []
for root in values:
    journal = begin(root)
    begun = [journal.torn, journal.next_seq, numbers(journal), begin(root).torn]
    journal.add("take", take(7))
    again = begin(root)
    found.append(begun + [again.torn, again.next_seq, numbers(again)])
print(json.dumps(found))
""",
        roots,
    )
    assert len(found) == length - 1
    assert all(case == [1, 2, [0, 1], 1, 1, 3, [0, 1, 2]] for case in found)
    assert all(segments(Path(root))[0].stat().st_size == size for root in roots)


def test_damage_in_the_middle_costs_one_record_and_nothing_is_cut(micropython: Any, filled: Path) -> None:
    for file in segments(filled):
        data = bytearray(file.read_bytes())
        data[169 * 5 + 60] ^= 4
        file.write_bytes(data)
    size = sum(file.stat().st_size for file in segments(filled))
    torn, next_seq, found = micropython(
        START + "j = begin(values)\nprint(json.dumps([j.torn, j.next_seq, numbers(j)]))", str(filled)
    )
    assert (torn, next_seq) == (0, 250)
    assert sorted(set(range(250)) - set(found)) == [5, 96 + 5, 192 + 5]
    assert found == sorted(found)
    assert sum(file.stat().st_size for file in segments(filled)) == size


def test_a_doubled_record_is_read_once(micropython: Any, filled: Path) -> None:
    for file in segments(filled):
        data = file.read_bytes()
        file.write_bytes(data + data[-169 * 3 :])
    found = micropython(START + "j = begin(values)\nprint(json.dumps([j.next_seq, numbers(j)]))", str(filled))
    assert found == [250, list(range(250))]


def test_only_whole_segments_are_reclaimed(micropython: Any, filled: Path) -> None:
    steps = micropython(
        START
        + """
journal = begin(values)
steps = []
for before in (0, 95, 96, 191, 192, 249):
    freed = journal.reclaim(before)
    found = numbers(journal)
    steps.append([freed, journal.first_seq, found[0], len(found), begin(values).first_seq])
print(json.dumps(steps))
""",
        str(filled),
    )
    length = 96 * 169
    assert steps == [
        [0, 0, 0, 250, 0],
        [0, 0, 0, 250, 0],
        [length, 96, 96, 154, 96],
        [0, 96, 96, 154, 96],
        [length, 192, 192, 58, 192],
        [0, 192, 192, 58, 192],
    ]


def test_no_number_is_given_twice_though_everything_was_reclaimed(micropython: Any, filled: Path) -> None:
    found = micropython(
        START
        + """
journal = begin(values)
freed = [journal.reclaim(250), journal.reclaim(250)]
again = begin(values, 5)
facts = [again.first_seq, again.next_seq, again.epoch, numbers(again)]
added = [again.add("take", take(0)), again.reclaim(251), begin(values).add("take", take(1))]
print(json.dumps([freed, facts, added, numbers(begin(values))]))
""",
        str(filled),
    )
    assert found == [[250 * 169, 0], [250, 250, 0x01020304, []], [250, 169, 251], [251]]
    assert [file.name for file in segments(filled)] == ["000000fb"]


def test_the_home_ledger_is_kept(micropython: Any, tmp_path: Path) -> None:
    assert micropython(
        START
        + """
journal = begin(values)
before = journal.home
journal.claim("work~shop ü")
print(json.dumps([before, journal.home, begin(values).home]))
""",
        str(tmp_path),
    ) == ["", "work~shop ü", "work~shop ü"]


def test_other_files_in_the_folder_are_left_alone(micropython: Any, filled: Path) -> None:
    for name in ("0000000g", "notes", "00000000.new", "+0000001"):
        (filled / "journal" / name).write_bytes(b"x")
    script = START + "j = begin(values)\nprint(json.dumps([j.next_seq, len(numbers(j))]))"
    found = micropython(script, str(filled))
    assert found == [250, 250]


def test_the_reader_is_content_with_little_memory(micropython: Any, filled: Path) -> None:
    """A Unix build's objects are twice the Pico's; a segment alone would be 16 kB."""
    used = micropython(
        START
        + """
import gc
journal = begin(values)
gc.collect()
gc.threshold(4000)
before = gc.mem_free()
least = before
number = 0
while number < 250:
    data, number = journal.read(number, 684)
    least = min(least, gc.mem_free())
print(json.dumps(before - least))
""",
        str(filled),
    )
    assert used < 12_000


def test_a_torn_record_is_counted_once_though_the_power_goes_while_it_is_cut_off(
    micropython: Any, tmp_path: Path
) -> None:
    whole = tmp_path / "whole"
    whole.mkdir()
    micropython(START + "j = begin(values)\nfor i in range(3): j.add('take', take(i))\nprint(0)", str(whole))
    with segments(whole)[0].open("r+b") as file:
        file.truncate(400)
    found = micropython(
        START
        + """
from meter import store as stores
class PowerCut(Exception):
    pass
def without(step):
    def gone(pen, *_):
        raise PowerCut()
    usual = getattr(stores._Pen, step)
    setattr(stores._Pen, step, gone)
    try:
        begin(values)
        return False
    except PowerCut:
        return True
    finally:
        setattr(stores._Pen, step, usual)
cuts = [without("replace"), without("cut"), without("cut")]
journal = begin(values)
print(json.dumps([cuts, journal.torn, journal.next_seq, numbers(journal), begin(values).torn]))
""",
        str(whole),
    )
    assert found == [[True, True, True], 1, 2, [0, 1], 1]
    with segments(whole)[0].open("ab") as file:
        file.write(b"\xa7 the next one")
    assert micropython(START + "print(json.dumps([begin(values).torn, begin(values).torn]))", str(whole)) == [2, 2]


def test_a_count_of_torn_records_from_before_their_places_were_kept(micropython: Any, filled: Path) -> None:
    (filled / "journal" / "torn").write_bytes(b"3")
    with segments(filled)[-1].open("ab") as file:
        file.write(b"torn")
    assert micropython(START + "print(json.dumps(begin(values).torn))", str(filled)) == 4


def test_what_a_failed_write_has_left_is_looked_at_before_the_next(micropython: Any, tmp_path: Path) -> None:
    """The record may be on flash although the write reported a fault: its number must not be given again."""
    found = micropython(
        START
        + """
from meter import store as stores
usual = stores._Pen.append
def attempt(journal, append):
    stores._Pen.append = append
    try:
        journal.add("take", take(journal.next_seq))
    except WireError as error:
        return error.code
    finally:
        stores._Pen.append = usual
def wrote_all(pen, name, data):
    usual(pen, name, data)
    raise OSError(5)
def wrote_part(pen, name, data):
    usual(pen, name, data[:100])
    raise OSError(5)
journal = begin(values)
journal.add("take", take(0))
codes = [attempt(journal, wrote_all), attempt(journal, wrote_part)]
given = journal.add("take", take(9))
print(json.dumps([codes, given, numbers(journal), journal.torn, journal.next_seq, numbers(begin(values))]))
""",
        str(tmp_path),
    )
    assert found == [["store", "store"], 2, [0, 1, 2], 1, 3, [0, 1, 2]]


def test_a_reclaim_that_broke_off_does_no_harm(micropython: Any, filled: Path) -> None:
    found = micropython(
        START
        + """
from meter import store as stores
usual = stores._Pen.remove
def removed_and_failed(pen, name):
    usual(pen, name)
    raise OSError(5)
journal = begin(values)
stores._Pen.remove = removed_and_failed
try:
    journal.reclaim(192)
except WireError as error:
    code = error.code
stores._Pen.remove = usual
print(json.dumps([code, journal.read(0, 684)[1], journal.first_seq, numbers(journal)[0], journal.reclaim(192) > 0,
                  journal.first_seq, journal.add("take", take(1))]))
""",
        str(filled),
    )
    assert found == ["store", 100, 96, 96, True, 192, 250]
