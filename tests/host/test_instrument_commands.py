"""Describing instruments from the command line: asked for or by options, changed, shown, removed."""

import json
import os
import pty
import select
import stat
import subprocess
import sys
import time

import pytest
from reedbench.__main__ import run
from reedbench.firmware.wire import record
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger, Sender
from shop import instrument as made


@pytest.fixture
def ledger(tmp_path, monkeypatch):
    path = tmp_path / "ledger.db"
    monkeypatch.setenv("REEDBENCH_LEDGER", str(path))
    return path


@pytest.fixture
def tenor(tmp_path):
    path = tmp_path / "tenor.json"
    path.write_text(json.dumps(made().to_dict()))
    return path


def called(capsys, *arguments):
    """(exit code, JSON or None, stderr) of a command called with --json."""
    code = run([*map(str, arguments), "--json"])
    out, err = capsys.readouterr()
    assert err.count("\n") <= 1
    return code, json.loads(out) if out else None, err


def test_a_new_instrument_by_options(capsys, tmp_path):
    path = tmp_path / "low.json"
    line = ["--name", "low one", "--layout", "solo-12", "--key", "low D", "--slide", "straight", "--first-plate"]
    line += ["lower", "--reference-hz", "443", "--tolerance-cents", "1.5", "--drop-cents", "1", "--set", "last_hole=C"]
    code, told, _ = called(capsys, "instrument", "new", path, *line)
    assert code == 0
    one = Instrument.read(path)
    assert told["instrument"] == one.to_dict() == json.loads(path.read_text())
    assert (one.name, one.key, one.slide, one.first_plate, one.last_hole) == (
        "low one",
        "low D",
        "straight",
        "lower",
        "C",
    )
    assert (one.order.reference_hz, one.order.tolerance_cents, one.order.drop_cents) == (443, 1.5, 1)


def test_two_new_instruments_differ_in_their_key(capsys, tmp_path):
    keys = set()
    for name in ("a", "b"):
        path = tmp_path / f"{name}.json"
        assert called(capsys, "instrument", "new", path, "--name", name, "--layout", "solo-8")[0] == 0
        keys.add(Instrument.read(path).key_id)
    assert len(keys) == 2


def test_a_file_that_is_there_stays_unless_forced(capsys, tenor):
    before = tenor.read_bytes()
    line = ("instrument", "new", tenor, "--name", "x", "--layout", "solo-8")
    code, _, err = called(capsys, *line)
    assert code == 2 and "--force" in err and tenor.read_bytes() == before
    assert called(capsys, *line, "--force")[0] == 0 and Instrument.read(tenor).name == "x"


@pytest.mark.parametrize(
    ("line", "says"),
    [
        (["--layout", "solo-12"], "say --name"),
        (["--name", "x"], "say --layout"),
        (["--name", "x", "--layout", "solo-99"], "layout"),
        (["--name", "x", "--layout", "solo-12", "--key", "H"], "key"),
        (["--name", "x", "--layout", "solo-12", "--key", "\x1b[2J"], "key"),
        (["--name", "x", "--layout", "solo-12", "--slide", "round"], "slide"),
        (["--name", "x", "--layout", "solo-12", "--reference-hz", "4400"], "4400"),
        (["--name", "x", "--layout", "solo-12", "--reference-hz", "nan"], "392 to 470"),
        (["--name", "x", "--layout", "solo-12", "--tolerance-cents", "0"], "tolerance"),
        (["--name", "x", "--layout", "solo-12", "--drop-cents", "1e9"], "drop_cents"),
        (["--name", "x", "--layout", "solo-12", "--drop-cents", "nan"], "drop_cents"),
        (["--name", "x" * 81, "--layout", "solo-12"], "name"),
        (["--name", "", "--layout", "solo-12"], "name"),
        (["--name", "a\nb", "--layout", "solo-12"], "name"),
        (["--name", "x", "--layout", "solo-12", "--set", "tuner=1"], "not a field"),
        (["--name", "x", "--layout", "solo-12", "--set", "tuner"], "field=value"),
        (["--name", "x", "--layout", "solo-12", "--set", "a.b=1"], 'no object "a"'),
    ],
)
def test_an_order_that_makes_no_sense_writes_nothing(capsys, tmp_path, line, says):
    code, _, err = called(capsys, "instrument", "new", tmp_path / "x.json", *line)
    assert code == 2 and says in err and "\x1b" not in err and list(tmp_path.iterdir()) == []


def test_named_fields_are_changed_in_a_file(capsys, tenor):
    changes = ["--set", "reference_hz=442", "--set", "name=4 reeds", "--set", "order.drop_cents=1", "--set", "key=Bb"]
    code, told, _ = called(capsys, "instrument", "edit", tenor, *changes)
    one = Instrument.read(tenor)
    assert code == 0 and told["instrument"] == one.to_dict()
    assert (one.name, one.key, one.order.reference_hz, one.order.drop_cents) == ("4 reeds", "Bb", 442, 1)
    assert one.key_id == made().key_id


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ("reference_hz=4400", "392 to 470"),
        ("reference_hz=four", "392 to 470"),
        ("reference_hz=NaN", "392 to 470"),
        ("tolerance_cents=0", "0.2 to 20"),
        ("key=H", "a key such as"),
        ("key_id=0000000000000000", "it stays as it is"),
        ("layout=" + "x" * 10_000, "layout"),
        ("order=5", "order"),
        ("order=[" + "[" * 50_000, "order"),
        ("version=2", "newer"),
        ("=1", "field=value"),
        ("name=\x1b[2J", "control"),
    ],
)
def test_a_bad_change_keeps_the_old_one(capsys, tenor, change, says):
    before = tenor.read_bytes()
    code, _, err = called(capsys, "instrument", "edit", tenor, "--set", "name=good", "--set", change)
    assert code == 2 and says in err and "\x1b" not in err and len(err) < 500
    assert tenor.read_bytes() == before


def test_an_instrument_of_the_ledger_is_changed_there(capsys, ledger, tenor):
    key = called(capsys, "instrument", "add", tenor)[1]["instrument"]["key_id"]
    assert called(capsys, "instrument", "edit", key, "--set", "reference_hz=442")[0] == 0
    assert called(capsys, "instrument", "show", key)[1]["instrument"]["order"]["reference_hz"] == 442
    assert called(capsys, "instrument", "edit", key, "--set", "tolerance_cents=0")[0] == 2
    assert called(capsys, "instrument", "show", key)[1]["instrument"]["order"]["tolerance_cents"] == 2
    assert called(capsys, "instrument", "edit", "ffffffffffffffff", "--set", "name=x")[0] == 2


def test_without_a_terminal_there_is_no_editor(capsys, tenor):
    code, _, err = called(capsys, "instrument", "edit", tenor)
    assert code == 2 and "--set" in err


def test_show_says_each_plate_and_its_reeds_in_the_order_of_a_survey(capsys, tenor):
    assert run(["instrument", "show", str(tenor)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert "upper plate, 24 reeds" in lines and "lower plate, 24 reeds" in lines
    upper = lines[lines.index("upper plate, 24 reeds") + 1 : lines.index("lower plate, 24 reeds")]
    assert len(upper) == 24 and all(" upper " in line for line in upper)
    assert "261.63" in next(line for line in lines if line.startswith("1 blow, slide out"))  # C4 (ISO 16, equal)


def test_an_instrument_without_surveys_is_removed_and_one_with_surveys_stays(capsys, ledger, tenor):
    key = called(capsys, "instrument", "add", tenor)[1]["instrument"]["key_id"]
    values = {field: 0 for field, _ in record.SURVEY}
    values |= {"instrument": key, "name": "x", "layout": "solo-12"}
    with Ledger.open(ledger, write=True) as opened:
        opened.keep(Sender("m", 1, "", ""), [record.pack("survey", 0, values)])
    code, _, err = called(capsys, "instrument", "remove", key)
    assert code == 2 and "has surveys (1)" in err
    assert called(capsys, "instrument", "list")[1]["instruments"][0]["surveys"] == 1
    with Ledger.open(ledger, write=True) as opened, opened._transaction() as connection:
        connection.execute("DELETE FROM surveys")
    assert called(capsys, "instrument", "remove", key)[0] == 0
    assert called(capsys, "instrument", "list")[1]["instruments"] == []
    assert called(capsys, "instrument", "remove", key)[0] == 2


class Terminal:
    """The command on a pty, as at a terminal."""

    def __init__(self, *arguments, **environment):
        master, slave = pty.openpty()
        command = [sys.executable, "-m", "reedbench", *map(str, arguments)]
        environment = {**os.environ, "TERM": "dumb", **environment}
        self._process = subprocess.Popen(command, stdin=slave, stdout=slave, stderr=slave, env=environment)
        os.close(slave)
        self._master = master
        self.seen = ""

    def until(self, text):
        deadline = time.monotonic() + 30
        while text not in self.seen and time.monotonic() < deadline:
            if select.select([self._master], [], [], 0.1)[0]:
                try:
                    self.seen += os.read(self._master, 4096).decode()
                except OSError:
                    break
        assert text in self.seen, self.seen
        self.seen = self.seen.split(text, 1)[1]

    def type(self, text):
        os.write(self._master, (text + "\n").encode())

    def end(self):
        code = self._process.wait(30)
        while select.select([self._master], [], [], 0)[0]:
            try:
                self.seen += os.read(self._master, 4096).decode()
            except OSError:
                break
        os.close(self._master)
        return code


def test_on_a_terminal_short_questions_are_asked(tmp_path):
    path = tmp_path / "asked.json"
    terminal = Terminal("instrument", "new", path, "--reference-hz", "441")
    terminal.until("Layout")
    terminal.type("solo-99")
    terminal.until("solo-99")
    terminal.type("solo-10")
    terminal.until("calls it")
    terminal.type("the little one")
    for question, answer in (("Key", "G"), ("within", "3"), ("Drop", ""), ("Slide", ""), ("Plate", "lower")):
        terminal.until(question)
        terminal.type(answer)
    assert terminal.end() == 0
    one = Instrument.read(path)
    assert (one.name, one.layout.id, one.key, one.slide, one.first_plate) == (
        "the little one",
        "solo-10",
        "G",
        "cross",
        "lower",
    )
    assert (one.order.reference_hz, one.order.tolerance_cents, one.order.drop_cents) == (441, 3, 0)


@pytest.fixture
def editor(tmp_path):
    """An EDITOR that replaces words in the file it is given."""

    def made_of(old, new):
        path = tmp_path / "editor"
        path.write_text(f"#!{sys.executable}\nimport sys\np = sys.argv[1]\nt = open(p).read()\n"
                        f"open(p, 'w').write(t.replace({old!r}, {new!r}))\n")  # fmt: skip
        path.chmod(path.stat().st_mode | stat.S_IXUSR)
        return str(path)

    return made_of


def test_the_editor_changes_what_is_sound(tenor, editor):
    terminal = Terminal("instrument", "edit", tenor, EDITOR=editor("440.0", "444.0"), VISUAL="")
    assert terminal.end() == 0
    assert Instrument.read(tenor).order.reference_hz == 444


def test_what_the_editor_made_unsound_is_refused_and_the_old_one_stays(tenor, editor):
    before = tenor.read_bytes()
    terminal = Terminal("instrument", "edit", tenor, EDITOR=editor("440.0", "4400"), VISUAL="")
    terminal.until("392 to 470")
    terminal.until("again?")
    terminal.type("n")
    assert terminal.end() == 2
    assert tenor.read_bytes() == before
    terminal = Terminal("instrument", "edit", tenor, EDITOR=editor("00000000000000aa", "00000000000000ab"), VISUAL="")
    terminal.until("it stays as it is")
    terminal.until("again?")
    terminal.type("n")
    assert terminal.end() == 2 and tenor.read_bytes() == before


def test_an_editor_that_is_not_there(tenor):
    terminal = Terminal("instrument", "edit", tenor, EDITOR="/no/such/editor", VISUAL="")
    assert terminal.end() == 1
    assert "the editor did not work" in terminal.seen and "Traceback" not in terminal.seen
