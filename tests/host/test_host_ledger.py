"""The ledger file: made, migrated, refused; and what it hands out of what was put in."""

import os
import sqlite3
import subprocess
import sys
from contextlib import contextmanager

import pytest
from reedbench.errors import BadInput, Failed, LinkFault
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger, Sender, schema

SENDER = Sender("e6614103e7452d2f", 7, "bench", "0.1.0")


def survey(sequence, name="the tenor"):
    values = {field: 0 for field, _ in record.SURVEY}
    values.update(instrument="00112233445566aa", name=name, layout="solo-12", reeds=48, state=1, pass_number=3)
    values.update(reference_mhz=441500, tolerance_cc=150, unix_s=1_700_000_000)
    return record.pack("survey", sequence, values)


def take(sequence, ordinal, number, **changed):
    values = {field: 0 for field, _ in record.TAKE}
    values.update(ordinal=ordinal, number=number, state=1, rate=16000, span=12000, uhz=440_123_456)
    values.update(trace_ccent=[0] * 32, trace_level_qdb=[0] * 32, board_dc=record.NO_TEMPERATURE, **changed)
    return record.pack("take", sequence, values)


def baseband(sequence, of_take, ordinal, harmonic=1):
    values = {field: 0 for field, _ in record.BASEBAND}
    values.update(take=of_take, ordinal=ordinal, harmonic=harmonic, count=2, length=80, turn=4096, rate=16000)
    return record.pack("baseband", sequence, values | {"points": [7, -8, 9, -32768] + [0] * 188})


def redo(sequence, ordinal, of=0):
    return record.pack("redo", sequence, {"survey": of, "ordinal": ordinal})


@pytest.fixture
def path(tmp_path):
    return tmp_path / "ledger.db"


@contextmanager
def unprivileged(folder):
    """Nobody's rights for the block, since root may write everywhere."""
    if os.geteuid() != 0:
        yield
        return
    for place in (folder, *folder.parents):
        if place.stat().st_uid == 0 and str(place) not in ("/", "/tmp"):
            place.chmod(place.stat().st_mode | 0o055)
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


def test_a_survey_and_its_takes_in_the_units_people_use(path):
    """Scales as the field names of wire/record.py give them; a cent is 1/1200 of an octave (ISO 80000-8)."""
    one = take(
        1,
        5,
        2,
        se_mcent=123,
        clock_u_ppb=5000,
        check_ccent=-7,
        drift_ccent_s=250,
        level_cdb=-2345,
        flags=1 << 8,
    )
    two = take(2, 5, 3, flags=1 << 4, uhz=1)
    none = record.pack("take", 3, {**record.unpack(one)[2], "uhz": 0, "board_dc": 215, "unix_s": 9})
    with Ledger.open(path, write=True) as ledger:
        kept = ledger.keep(SENDER, [survey(0), one, two, none])
        assert (kept.records, kept.takes, kept.surveys, kept.unread) == (4, 3, (1,), 0)
        found = ledger.survey(None)
        takes = ledger.takes(1)
    assert (found.number, found.meter, found.epoch, found.sequence) == (1, "e6614103e7452d2f", 7, 0)
    assert (found.reference_hz, found.tolerance_cents, found.state) == (441.5, 1.5, "covers off")
    assert (found.pass_number, found.unix_s, found.reeds, found.takes, found.ended) == (
        3,
        1_700_000_000,
        48,
        3,
        False,
    )
    assert (takes[0].hz, takes[0].se_cents, takes[0].check_cents) == (440.123456, 0.123, -0.07)
    assert (takes[0].drift_cents_per_s, takes[0].level_dbfs, takes[0].span_s) == (2.5, -23.45, 0.75)
    assert takes[0].clock_u_cents == pytest.approx(0.008656, abs=1e-6)  # 5 ppm; 1 cent = 577.79 ppm
    assert (takes[0].flags, takes[0].unix_s, takes[0].board_celsius) == (("wavering",), None, None)
    assert takes[1].flags == ("clipped",)
    assert (takes[2].hz, takes[2].board_celsius, takes[2].unix_s) == (None, 21.5, 9)


def test_a_redo_withdraws_the_earlier_takes_of_its_reed_only(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(
            SENDER,
            [
                survey(0),
                take(1, 5, 1),
                take(2, 6, 1),
                redo(3, 5),
                take(4, 5, 2),
                survey(5),
                take(6, 5, 1, survey=5),
            ],
        )
        ledger.keep(Sender("another meter", 7, "", ""), [survey(0), take(1, 5, 1), redo(9, 6)])
        assert [(one.sequence, one.withdrawn) for one in ledger.takes(1)] == [
            (1, True),
            (2, False),
            (4, False),
        ]
        assert [(one.sequence, one.withdrawn) for one in ledger.takes(2)] == [(6, False)]
        assert [(one.sequence, one.withdrawn) for one in ledger.takes(3)] == [(1, False)]


def test_a_flag_of_a_newer_meter_is_not_lost(path):
    from reedbench.surveys import takes_of

    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0), take(1, 5, 1, flags=1 << 15 | 1 << 8), take(2, 5, 2, flags=1 << 8)])
        assert ledger.takes(1)[0].flags == ("wavering", "flag 15")
        assert [one.trusted for one in takes_of(ledger, ledger.survey(1))] == [False, True]


def test_what_is_kept_twice_is_there_once_and_what_differs_is_refused(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0), take(1, 5, 1)])
        again = ledger.keep(SENDER, [survey(0), take(1, 5, 1), take(2, 5, 2)])
        assert (again.records, again.takes) == (1, 1)
        with pytest.raises(LinkFault, match="record 1 with other content"):
            ledger.keep(SENDER, [take(3, 5, 3), take(1, 9, 1)])
        assert [one.sequence for one in ledger.takes(1)] == [1, 2]
        assert ledger.next_sequence(SENDER.serial, 7) == 3
        assert ledger.next_sequence(SENDER.serial, 8) == 0


def test_takes_whose_survey_another_ledger_has_are_kept_and_not_shown(path):
    with Ledger.open(path, write=True) as ledger:
        kept = ledger.keep(SENDER, [take(50, 5, 1, survey=40)])
        assert (kept.records, kept.takes, kept.surveys) == (1, 1, ())
        assert ledger.surveys() == []


def test_an_instrument_is_kept_and_replaced(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep_instrument("k", "old", "solo-12", {"a": 1})
        ledger.keep_instrument("k", "new <b>", "solo-12", {"a": "\u202e"})
        assert [(one.key, one.name) for one in ledger.instruments()] == [("k", "new <b>")]
        assert ledger.instrument("k").document == {"a": "\u202e"}
        with pytest.raises(BadInput, match="no instrument x"):
            ledger.instrument("x")
        with pytest.raises(BadInput, match="no survey 4"):
            ledger.survey(4)
        with pytest.raises(BadInput, match="no survey in the ledger yet"):
            ledger.survey(None)


def test_the_identity_stays_and_differs_between_ledgers(path, tmp_path):
    with Ledger.open(path, write=True) as ledger:
        mine = ledger.identity
    with Ledger.open(path) as ledger:
        assert ledger.identity == mine
    with Ledger.open(tmp_path / "other.db", write=True) as ledger:
        assert ledger.identity != mine
    assert len(mine) == 32 and set(mine) <= set("0123456789abcdef")


def test_a_step_and_its_record_are_there_together_or_not_at_all(path, monkeypatch):
    broken = (*schema.STEPS[0][1], "CREATE TABLE identity (twice INTEGER)")
    monkeypatch.setattr(schema, "STEPS", (("broken", broken),))
    with pytest.raises(Failed):
        Ledger.open(path, write=True)
    with sqlite3.connect(path) as connection:
        assert connection.execute("SELECT count(*) FROM sqlite_schema").fetchone() == (0,)
        assert connection.execute("PRAGMA application_id").fetchone() == (0,)
    monkeypatch.undo()
    with Ledger.open(path, write=True) as ledger:
        assert ledger.surveys() == []


def test_the_baseband_of_two_reeds_comes_with_its_take_only(path):
    """The record before a power cut names a take that another reed got, or that reed later, and counts for nothing."""
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0), baseband(1, 3, 5), baseband(2, 3, 5, 2), take(3, 5, 1)])
        ledger.keep(SENDER, [baseband(4, 5, 6), take(5, 7, 1)])
        ledger.keep(SENDER, [baseband(6, 8, 7), take(7, 7, 2), take(8, 7, 3)])
        kept = ledger.basebands(1)
    assert [(one.take, one.harmonic) for one in kept] == [(3, 1), (3, 2)]
    assert (kept[0].length, kept[0].turn, kept[0].rate_hz, kept[0].points) == (80, 4096, 16000.0, (7, -8, 9, -32768))


def test_a_later_step_is_taken_on_an_existing_ledger(path, monkeypatch):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0)])
    monkeypatch.setattr(schema, "STEPS", (*schema.STEPS, ("notes", ("CREATE TABLE notes (text TEXT)",))))
    monkeypatch.setattr(schema, "NEWEST", schema.NEWEST + 1)
    with Ledger.open(path) as ledger:
        assert len(ledger.surveys()) == 1
    with sqlite3.connect(path) as connection:
        assert connection.execute("SELECT number, name FROM migrations").fetchall() == [
            (1, "first tables"),
            (2, "imports"),
            (3, "clocks and roles"),
            (4, "strokes"),
            (5, "removed surveys"),
            (6, "sittings"),
            (7, "basebands"),
            (8, "notes"),
        ]
        connection.execute("SELECT text FROM notes")


def refused(path, write, says):
    before = path.read_bytes() if path.is_file() else None
    with pytest.raises(Failed, match=says) as caught:
        Ledger.open(path, write=write)
    assert "\n" not in str(caught.value)
    assert before is None or path.read_bytes() == before


@pytest.mark.parametrize("write", [False, True])
def test_files_that_are_no_ledger(path, write):
    path.write_bytes(b"%PDF-1.4 not a database at all" * 100)
    refused(path, write, "is not a ledger")
    path.unlink()
    with sqlite3.connect(path) as connection:
        connection.execute("CREATE TABLE photos (x)")
    refused(path, write, "is not a ledger")
    with sqlite3.connect(path) as connection:
        connection.execute(f"PRAGMA application_id = {schema.APPLICATION_ID}")
    refused(path, write, "could not be used|is not a ledger")


@pytest.mark.parametrize("write", [False, True])
def test_a_ledger_of_a_newer_version(path, write):
    Ledger.open(path, write=True).__exit__(None, None, None)
    with sqlite3.connect(path) as connection:
        connection.execute("INSERT INTO migrations VALUES (?, 'from the future', 0)", (schema.NEWEST + 1,))
    refused(path, write, "newer reedbench")


def test_a_damaged_ledger(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0)] + [take(n, n % 48, 1) for n in range(1, 500)])
    data = bytearray(path.read_bytes())
    data[4096 * 3 :] = os.urandom(len(data) - 4096 * 3)
    path.write_bytes(data)
    with pytest.raises(Failed, match="damaged"), Ledger.open(path) as ledger:
        ledger.takes(1)


def test_no_ledger_yet(path):
    refused(path, False, "there is no ledger .* yet")
    assert not path.exists()


def test_a_ledger_that_cannot_be_written(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0)])
    path.chmod(0o444)
    path.parent.chmod(0o555)
    try:
        with unprivileged(path.parent):
            refused(path, True, "cannot be written")
            refused(path.with_name("new.db"), True, "cannot be written")
            with Ledger.open(path) as ledger:
                assert len(ledger.surveys()) == 1
            # The file may be written, its folder not: SQLite cannot keep its own journal beside it.
        path.chmod(0o666)
        with unprivileged(path.parent):
            refused(path, True, "cannot be written")
    finally:
        path.parent.chmod(0o755)


def test_a_folder_that_cannot_be_made(tmp_path):
    (tmp_path / "file").write_text("")
    refused(tmp_path / "file" / "ledger.db", True, "folder .* cannot be made")


def test_a_ledger_that_another_program_holds(path, monkeypatch):
    from reedbench.ledger import opening

    monkeypatch.setattr(opening, "WAIT_S", 0.1)
    Ledger.open(path, write=True).__exit__(None, None, None)
    holder = sqlite3.connect(path, isolation_level=None)
    holder.execute("BEGIN EXCLUSIVE")
    refused(path, True, "another program is using the ledger")
    holder.execute("ROLLBACK")
    with Ledger.open(path, write=True) as ledger:
        assert ledger.surveys() == []


def test_a_ledger_at_rest_is_one_file(path):
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0)])
    assert [one.name for one in path.parent.iterdir()] == ["ledger.db"]


def test_a_kill_while_keeping_leaves_all_or_nothing(path):
    script = """
import os, sqlite3, sys
sys.path.insert(0, sys.argv[2])
from pathlib import Path
from test_host_ledger import SENDER, survey, take
from reedbench.ledger import Ledger
with Ledger.open(Path(sys.argv[1]), write=True) as ledger:
    with ledger._transaction() as connection:
        from reedbench.ledger.decoding import insert
        connection.execute("PRAGMA cache_size = 1")  # so that pages are on the disk before the commit
        insert(connection, SENDER, [survey(0)] + [take(n, 1, 1) for n in range(1, 300)])
        os.kill(os.getpid(), 9)
"""
    done = subprocess.run([sys.executable, "-c", script, path, os.path.dirname(__file__)], check=False)
    assert done.returncode == -9
    with Ledger.open(path) as ledger:
        assert ledger.surveys() == []
        assert ledger._all("PRAGMA integrity_check")[0][0] == "ok"
    with Ledger.open(path, write=True) as ledger:
        assert ledger.keep(SENDER, [survey(0), take(1, 1, 1)]).records == 2


def test_a_redo_of_the_control_reed_leaves_its_own_turn_alone(path):
    """As the meter writes it: two takes in its own turn, two in the middle, withdrawn by another two."""
    with Ledger.open(path, write=True) as ledger:
        rows = [survey(0), take(1, 5, 1), take(2, 5, 2), take(3, 6, 1), take(4, 5, 1, role=1), take(5, 5, 2, role=1)]
        ledger.keep(SENDER, [*rows, redo(6, 5), take(7, 5, 3, role=1), take(8, 5, 4, role=1)])
        assert [one.sequence for one in ledger.takes(1) if one.withdrawn] == [4, 5]
        ledger.keep(SENDER, [redo(9, 5), take(10, 5, 3)])
        assert [one.sequence for one in ledger.takes(1) if one.withdrawn] == [1, 2, 4, 5]
