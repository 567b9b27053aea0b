"""Looking after the ledger: faults are found, copies are whole, nothing is lost by a restore."""

import os
import sqlite3

import pytest
from reedbench.ledger import Ledger, schema, tending
from shop import called
from shop import instrument as made
from test_exchange import pulled


@pytest.fixture
def ledger(ledger):
    """With a survey in it."""
    pulled(ledger, made())
    return ledger


def test_a_sound_ledger(capsys, ledger):
    code, told, _ = called(capsys, "ledger", "check")
    assert (code, told["sound"], told["faults"], told["surveys"], told["instruments"]) == (0, True, [], 1, 1)
    assert told["takes"] == told["records"] - 1 > 90


def test_a_record_that_changed_is_found(capsys, ledger):
    with sqlite3.connect(ledger) as connection:
        raw = bytearray(connection.execute("SELECT raw FROM records WHERE id = 7").fetchone()[0])
        raw[20] ^= 1
        connection.execute("UPDATE records SET raw = ? WHERE id = 7", (bytes(raw),))
    code, told, err = called(capsys, "ledger", "check")
    assert (code, told["sound"], told["faults"]) == (1, False, ["record 7 is damaged"])
    assert "1 faults" in err


def test_a_row_without_the_one_it_belongs_to_is_found(capsys, ledger):
    with sqlite3.connect(ledger) as connection:
        connection.execute("DELETE FROM meters")
    code, told, _ = called(capsys, "ledger", "check")
    assert code == 1 and "a row of records belongs to a row that is missing in meters" in told["faults"]


def test_pages_that_rotted_are_found(capsys, ledger):
    data = bytearray(ledger.read_bytes())
    for page in range(5, len(data) // 4096):
        data[4096 * page : 4096 * page + 40] = os.urandom(40)
    ledger.write_bytes(data)
    code, _, err = called(capsys, "ledger", "check")
    assert code == 1 and ("damaged" in err or "faults" in err)


def test_a_copy_is_a_whole_ledger_even_while_it_is_used(capsys, ledger, tmp_path):
    copy = tmp_path / "copy.db"
    with Ledger.open(ledger, write=True):
        code, told, _ = called(capsys, "ledger", "backup", copy)
    assert code == 0 and told["size_bytes"] == copy.stat().st_size
    assert tending.check(copy) == tending.check(ledger)
    assert sorted(one.name for one in tmp_path.iterdir()) == ["copy.db", "ledger.db"]


def test_a_backup_replaces_nothing_unasked(capsys, ledger, tmp_path):
    copy = tmp_path / "copy.db"
    copy.write_text("mine")
    code, _, err = called(capsys, "ledger", "backup", copy)
    assert code == 2 and "--force" in err and copy.read_text() == "mine"
    assert called(capsys, "ledger", "backup", copy, "--force")[0] == 0
    assert called(capsys, "ledger", "backup", ledger, "--force")[0] == 2
    assert called(capsys, "ledger", "backup", tmp_path / "no" / "folder.db")[0] == 1
    assert called(capsys, "ledger", "check")[0] == 0


def test_restoring_keeps_the_ledger_that_was_there(capsys, ledger, tmp_path):
    copy = tmp_path / "copy.db"
    called(capsys, "ledger", "backup", copy)
    with Ledger.open(ledger, write=True) as opened:
        opened.keep_instrument("k", "new", "solo-12", {})
    code, _, err = called(capsys, "ledger", "restore", copy)
    assert code == 2 and "--force" in err
    code, told, _ = called(capsys, "ledger", "restore", copy, "--force")
    assert code == 0
    with Ledger.open(ledger) as opened:
        assert [one.key for one in opened.instruments()] == [made().key_id]
    with sqlite3.connect(told["aside"]) as connection:
        assert connection.execute("SELECT count(*) FROM instruments").fetchone() == (2,)
    assert called(capsys, "ledger", "restore", ledger, "--force")[0] == 2


def test_a_journal_of_the_old_ledger_does_not_reach_the_new_one(ledger, tmp_path):
    """SQLite plays a journal that lies beside a ledger into it, whoever's it was."""
    copy = tmp_path / "copy.db"
    tending.back_up(ledger, copy, False)
    (tmp_path / "ledger.db-journal").write_bytes(b"left over")
    aside = tending.restore(ledger, copy, True)
    assert not (tmp_path / "ledger.db-journal").exists()
    assert aside is not None and (tmp_path / f"{aside.name}-journal").read_bytes() == b"left over"
    assert tending.check(ledger).faults == ()


def test_a_damaged_ledger_can_be_restored_over(capsys, ledger, tmp_path):
    copy = tmp_path / "copy.db"
    called(capsys, "ledger", "backup", copy)
    ledger.write_bytes(b"rotten" * 1000)
    assert called(capsys, "ledger", "restore", copy, "--force")[0] == 0
    assert called(capsys, "ledger", "check")[0] == 0


def test_what_is_no_sound_ledger_is_not_restored(capsys, ledger, tmp_path):
    copy = tmp_path / "copy.db"
    copy.write_text("no ledger")
    assert "is not a ledger" in called(capsys, "ledger", "restore", copy, "--force")[2]
    assert called(capsys, "ledger", "restore", tmp_path / "nowhere.db", "--force")[0] == 1
    tending.back_up(ledger, copy, True)
    with sqlite3.connect(copy) as connection:
        connection.execute("UPDATE records SET raw = x'00' WHERE id = 3")
    code, _, err = called(capsys, "ledger", "restore", copy, "--force")
    assert code == 1 and "nothing was restored" in err
    with sqlite3.connect(copy) as connection:
        connection.execute("INSERT INTO migrations VALUES (?, 'later', 0)", (schema.NEWEST + 1,))
    assert "newer reedbench" in called(capsys, "ledger", "restore", copy, "--force")[2]
    assert called(capsys, "ledger", "check")[0] == 0
