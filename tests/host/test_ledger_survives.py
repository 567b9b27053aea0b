"""Whatever happens to the program, the disk or the file: the ledger stays sound, and what it has promised is in it."""

import os
import random
import resource
import shutil
import signal
import socket
import sqlite3
import struct
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from paper_meter import paper_meter
from reedbench.errors import Failed
from reedbench.ledger import Imported, ImportedReading, Ledger, Sender, medium, opening, schema, tending
from reedbench.ledger.holder import holder
from reedbench.pull import pull
from test_host_ledger import SENDER, survey, take, unprivileged

RELEASED = Path(__file__).with_name("ledgers")
RECORDS = [survey(0), *(take(number, number % 48, 1 + number // 48) for number in range(1, 260))]


@pytest.fixture
def path(tmp_path):
    return tmp_path / "ledger.db"


def sound(path):
    assert tending.check(path).faults == ()


def begun(path):
    """Whether there is a ledger, however little is in it; there may be its file already."""
    try:
        sound(path)
    except Failed as error:
        assert "there is no ledger" in str(error)
        return False
    return True


def numbers(path):
    with Ledger.open(path) as ledger:
        return [row[0] for row in ledger._all("SELECT sequence FROM records ORDER BY meter, epoch, sequence")]


@pytest.mark.parametrize("number", range(1, schema.NEWEST + 1))
@pytest.mark.parametrize("write", [False, True])
def test_a_ledger_of_each_released_schema_is_read_and_added_to(path, number, write):
    shutil.copyfile(RELEASED / f"schema-{number}.db", path)
    with Ledger.open(path, write) as ledger:
        assert [one.name for one in ledger.surveys() if one.file is None] == ["the tenor"]
        takes = [(one.ordinal, one.number, one.withdrawn) for one in ledger.takes(1)]
        assert takes == [(5, 1, True), (5, 2, True), (6, 1, False), (5, 3, False)]
        assert ledger.instrument("00112233445566aa").document == {"name": "the tenor"}
        assert [one.hz for one in ledger.imported(2)] == ([440.0] if number >= 2 else [])
        ledger.keep(SENDER, [take(6, 6, 2)])
    with sqlite3.connect(path) as connection:
        steps = [row[0] for row in connection.execute("SELECT number FROM migrations ORDER BY number")]
        assert steps == list(range(1, schema.NEWEST + 1))
    sound(path)


def test_every_table_is_strict_and_refers_to_what_there_is(path):
    with Ledger.open(path, write=True) as ledger:
        tables = ledger._all("SELECT name, strict FROM pragma_table_list WHERE schema = 'main' AND type = 'table'")
        assert {row["name"]: row["strict"] for row in tables if not row["name"].startswith("sqlite_")} == dict.fromkeys(
            ("identity", "meters", "records", "surveys", "takes", "redos", "ends", "instruments", "imports",
             "imported", "sightings", "runs", "strokes", "removed", "sittings", "bench_strokes", "checks", "basebands",
             "migrations"), 1,
        )  # fmt: skip
        with pytest.raises(Failed, match="FOREIGN KEY"):
            ledger._all("INSERT INTO redos VALUES (99, 0, NULL, 0)")


def killed(work: Callable[[int], None], after_s: float) -> list[int]:
    """Runs `work` in a process of its own and kills it; what it has written to the pipe it was given by then."""
    ours, theirs = os.pipe()
    child = os.fork()
    if child == 0:
        try:
            work(theirs)
        finally:
            os._exit(0)
    os.close(theirs)
    time.sleep(after_s)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    with open(ours, "rb") as file:
        said = file.read()
    return [value for (value,) in struct.iter_unpack("<I", said)]


def telling(pipe: int) -> Callable[[int], None]:
    return lambda value: void(os.write(pipe, struct.pack("<I", value)))


def void(_: object) -> None:
    pass


def one_pull(path: Path, records: list[bytes], acknowledged: Callable[[int], None]) -> None:
    with Ledger.open(path, write=True) as ledger:
        pull(paper_meter(records, ledger.identity, acknowledged), ledger)


def kill_a_pull(folder: Path, rng: random.Random, lasts_s: float) -> int:
    """A meter with ever more records, each pull killed; what the meter was told is safe must be. Returns the kills."""
    path = folder / "ledger.db"
    promised = 0
    lengths = (1, 40, 100, 101, 180, len(RECORDS))
    for made in lengths:
        told = killed(lambda pipe, made=made: one_pull(path, RECORDS[:made], telling(pipe)), rng.uniform(0, lasts_s))
        promised = max([promised, *told])
        have = numbers(path) if begun(path) else []
        assert have == list(range(len(have))) and len(have) >= promised
    one_pull(path, RECORDS, void)
    assert numbers(path) == list(range(len(RECORDS)))
    return len(lengths)


def kill_a_migration(folder: Path, rng: random.Random, lasts_s: float) -> int:
    path = folder / "ledger.db"
    shutil.copyfile(RELEASED / "schema-1.db", path)

    def work(pipe: int) -> None:
        Ledger.open(path, write=True).__exit__(None, None, None)

    killed(work, rng.uniform(0, lasts_s))
    with sqlite3.connect(path) as connection:
        steps = connection.execute("SELECT max(number) FROM migrations").fetchone()[0]
        tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_schema")}
    for step, made in enumerate(("records", "imports", "sightings", "strokes", "removed"), 1):
        assert (made in tables) == (steps >= step), "a step without its record, or a record without its step"
    sound(path)
    assert numbers(path) == [0, 1, 2, 3, 4, 5]
    return 1


def imported(number: int) -> Imported:
    readings = [ImportedReading(reed, 440.0 + reed, 0.5) for reed in range(48)]
    return Imported("k", "n", "solo-12", 48, "plucked", number, 440.0, 2.0, 0, "r.csv", b"x" * 5000, readings)


def kill_an_import(folder: Path, rng: random.Random, lasts_s: float) -> int:
    path = folder / "ledger.db"

    def work(pipe: int) -> None:
        with Ledger.open(path, write=True) as ledger:
            for number in range(50):
                telling(pipe)(ledger.keep_import(imported(number))[0])

    told = killed(work, rng.uniform(0, lasts_s))
    assert begun(path) or not told
    with Ledger.open(path, write=True) as ledger:
        assert [one.number for one in ledger.surveys()][: len(told)] == told
        assert all(one.readings == 48 for one in ledger.surveys())
        ledger.keep_import(imported(99))
    return 1


KILLS = [(kill_a_pull, 0.08), (kill_a_migration, 0.03), (kill_an_import, 0.15)]


@pytest.mark.parametrize(("kill", "lasts_s"), KILLS)
def test_a_few_kills(tmp_path, kill, lasts_s):
    rng = random.Random(1)
    for number in range(3):
        (tmp_path / str(number)).mkdir()
        kill(tmp_path / str(number), rng, lasts_s)


@pytest.mark.exhaustive
@pytest.mark.parametrize("seed", range(100))
@pytest.mark.parametrize(("kill", "lasts_s"), KILLS)
def test_hundreds_of_kills(tmp_path, kill, lasts_s, seed, tally):
    tally(kill(tmp_path, random.Random(seed), lasts_s), f"programs killed in {kill.__name__[5:].replace('_', ' ')}")


def test_what_was_promised_is_in_the_file_itself_though_the_program_was_killed(path, tmp_path):
    """Whoever copies only the ledger's own file after a crash has what the meter has freed."""

    def work_on(pipe: int) -> None:
        with Ledger.open(path, write=True) as ledger:
            ledger.keep(SENDER, RECORDS[:100])
            telling(pipe)(100)
            time.sleep(60)

    assert killed(work_on, 0.5) == [100]
    assert os.path.exists(f"{path}-wal"), "it was closed after all: the test shows nothing"
    copy = shutil.copyfile(path, tmp_path / "copy.db")
    assert numbers(copy) == list(range(100))


def test_two_programs_at_once_wait_for_each_other(path):
    children = []
    Ledger.open(path, write=True).__exit__(None, None, None)
    for serial in ("a", "b", "c"):
        child = os.fork()
        if child == 0:
            code = 1
            try:
                for first in range(0, 260, 13):
                    with Ledger.open(path, write=True) as ledger:
                        ledger.keep(Sender(serial, 7, "", ""), RECORDS[first : first + 13])
                code = 0
            finally:
                os._exit(code)
        children.append(child)
    assert [os.waitpid(child, 0)[1] for child in children] == [0, 0, 0]
    assert numbers(path) == [*range(260)] * 3
    sound(path)


def test_who_reads_does_not_hold_up_who_writes(path, monkeypatch):
    monkeypatch.setattr(opening, "WAIT_S", 0.1)
    with Ledger.open(path, write=True) as writer, Ledger.open(path) as reader:
        writer.keep(SENDER, RECORDS[:2])
        reader._connection.execute("BEGIN")
        assert len(reader.takes(1)) == 1
        writer.keep(SENDER, RECORDS[2:4])
        assert len(reader.takes(1)) == 1
        reader._connection.execute("COMMIT")
        assert len(reader.takes(1)) == 3


def test_a_second_program_is_told_who_holds_the_ledger(path, monkeypatch):
    monkeypatch.setattr(opening, "WAIT_S", 0.1)
    with Ledger.open(path, write=True) as second:
        code = (
            "import sys; from pathlib import Path; from reedbench.ledger import Ledger\n"
            "with Ledger.open(Path(sys.argv[2]), write=True) as ledger, ledger._transaction():\n"
            "    print('held', flush=True); sys.stdin.read()"
        )
        pipe = {"stdin": subprocess.PIPE, "stdout": subprocess.PIPE}
        with subprocess.Popen([sys.executable, "-c", code, "pull", str(path)], **pipe) as first:
            assert first.stdout.readline() == b"held\n"
            with pytest.raises(Failed, match=rf"^reedbench pull \(process {first.pid}\) is using the ledger"):
                second.keep(SENDER, RECORDS)
            first.stdin.close()
            assert first.wait(10) == 0
        assert second.keep(SENDER, RECORDS).records == len(RECORDS)
    assert not list(path.parent.glob("*-held"))


@pytest.mark.parametrize(
    ("note", "says"),
    [
        ("4711 elsewhere reedbench pull", "reedbench pull on elsewhere (process 4711)"),
        (f"{2**22 + 1} {socket.gethostname()} reedbench pull", "another program"),  # more than Linux has processes
        (f"{10**30} {socket.gethostname()} reedbench pull", "another program"),
        (f"0 {socket.gethostname()} reedbench pull", "another program"),
        ("-1 elsewhere", "another program"),
        ("1 elsewhere \x1b[2Jreed\u202ebench", "[2Jreedbench on elsewhere (process 1)"),
        ("x" * 10_000, "another program"),
        ("", "another program"),
    ],
)
def test_a_note_that_a_killed_program_left_is_not_believed(path, note, says):
    Path(f"{path}-held").write_text(note, encoding="utf-8")
    assert holder(path) == says


def test_a_full_disk_costs_nothing_that_was_there(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, RECORDS[:50])
        pages = ledger._all("PRAGMA page_count")[0][0]
        ledger._all(f"PRAGMA max_page_count = {pages + 2}")
        with pytest.raises(Failed, match="is full"):
            ledger.keep(SENDER, RECORDS)
    assert numbers(path) == list(range(50))
    sound(path)


@pytest.mark.parametrize("limit", [34_000, 70_000, 140_000])
def test_a_disk_that_fills_under_sqlite_is_one_line(path, limit):
    """A limit on the size of files stands in for the disk: the WAL cannot grow, or the file it is copied into."""
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, RECORDS[:50])
    child = os.fork()
    if child == 0:
        code = 1
        try:
            signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
            resource.setrlimit(resource.RLIMIT_FSIZE, (limit, limit))
            with pytest.raises(Failed, match="full or failing"), Ledger.open(path, write=True) as ledger:
                ledger.keep(SENDER, RECORDS)
            code = 0
        finally:
            os._exit(code)
    assert os.waitpid(child, 0)[1] == 0
    assert len(numbers(path)) in (50, len(RECORDS))  # all or nothing; what was said to have failed may be there
    sound(path)


def test_a_ledger_that_may_only_be_read_is_read(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, RECORDS[:50])
    path.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        with unprivileged(path.parent):
            assert numbers(path) == list(range(50))
    finally:
        path.parent.chmod(0o755)
    # What was committed, but is not in the file yet, is not passed over in silence.
    Path(f"{path}-wal").write_bytes(b"x")
    path.parent.chmod(0o555)
    try:
        with unprivileged(path.parent), pytest.raises(Failed, match="cannot be written"):
            numbers(path)
    finally:
        path.parent.chmod(0o755)


def test_on_another_computers_folder_the_ledger_is_kept_without_shared_memory(path, monkeypatch):
    Ledger.open(path, write=True).__exit__(None, None, None)
    monkeypatch.setattr(opening, "on_network", lambda path: True)
    with Ledger.open(path, write=True) as ledger:
        assert (ledger._all("PRAGMA journal_mode")[0][0], ledger._all("PRAGMA synchronous")[0][0]) == ("delete", 3)
        ledger.keep(SENDER, RECORDS[:5])
        assert [one.name for one in path.parent.iterdir()] == ["ledger.db"]
    monkeypatch.undo()
    with Ledger.open(path, write=True) as ledger:
        assert (ledger._all("PRAGMA journal_mode")[0][0], ledger._all("PRAGMA synchronous")[0][0]) == ("wal", 2)
    assert numbers(path) == list(range(5))


MOUNTS = """22 1 8:1 / / rw,relatime shared:1 - ext4 /dev/sda1 rw
40 22 0:35 / /home rw - nfs4 server:/home rw
41 22 0:36 / /home/anna/local\\040disk rw - xfs /dev/sdb1 rw
42 22 0:37 / /media/share rw - cifs //server/share rw
nonsense
"""


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/", "ext4"),
        ("/homes", "ext4"),
        ("/home/anna", "nfs4"),
        ("/home/anna/local disk/x", "xfs"),
        ("/media/share", "cifs"),
        ("/media/shared", "ext4"),
    ],
)
def test_where_a_folder_lies(folder, kind):
    assert medium._kind(folder, MOUNTS) == kind


@pytest.mark.parametrize("tail", opening.BESIDE)
def test_what_lies_beside_an_old_ledger_is_not_played_into_a_restored_or_copied_one(path, tmp_path, tail):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, RECORDS[:5])
    copy = tmp_path / "copy.db"
    tending.back_up(path, copy, False)
    Path(f"{path}{tail}").write_bytes(b"left over")
    aside = tending.restore(path, copy, True)
    assert aside is not None
    assert not os.path.exists(f"{path}{tail}") and Path(f"{aside}{tail}").read_bytes() == b"left over"
    Path(f"{copy}{tail}").write_bytes(b"left over")
    tending.back_up(path, copy, True)
    assert numbers(copy) == numbers(path) == list(range(5))
