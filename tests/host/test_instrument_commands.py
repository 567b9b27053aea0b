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
from reedbench import layouts
from reedbench.__main__ import run
from reedbench.firmware.wire import record
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger, Sender
from shop import called
from shop import instrument as made


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
        (["--name", "x", "--layout", "solo-12", "--reference-hz", "A"], "must be a number from 392 to 470"),
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
        before, self.seen = self.seen.split(text, 1)
        return before + text

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


def answered(tmp_path, *dialogue, options=()):
    """The instrument that a dialogue of (question, answer) makes, and all that was shown."""
    path = tmp_path / "asked.json"
    terminal = Terminal("instrument", "new", path, *options)
    shown = ""
    for question, answer in dialogue:
        shown += terminal.until(question)
        terminal.type(answer)
    assert terminal.end() == 0, terminal.seen
    assert "described in" in terminal.seen
    return Instrument.read(path), shown


def test_on_a_terminal_what_means_something_is_asked(tmp_path):
    one, shown = answered(
        tmp_path,
        ("Kind of instrument", "9"),
        ('"9" is none of the numbers 1 to 7', "solo-99"),
        ("there is no layout", "5"),
        ("Which slide chromatic", "3"),
        ("calls it", "the little one"),
        ("Key", "H"),
        ("a key such as", "G"),
        ("Last reed, on an instrument in C: D or C", "C"),
        ("Slide: cross or straight", "straight"),
        ("Plate that hole 1 sounds", "lower"),
        ("Temperament", "meantone"),
        ("Its tonic [G]", "D"),
        ("Good within", "0"),
        ("a number from 0.2 to 20", "3"),
        ("Drop", "1,5"),
        options=("--reference-hz", "441"),
    )
    assert (one.name, one.key, one.layout.id, one.last_hole) == ("the little one", "G", "solo-12", "C")
    assert (one.slide, one.first_plate) == ("straight", "lower")
    order = one.order
    assert (order.reference_hz, order.temperament, order.tonic) == (441, "meantone", "D")
    assert (order.tolerance_cents, order.drop_cents) == (3, 1.5)
    assert "  5  Slide chromatic" in shown and "solo-12: 12 holes, solo tuning" in shown
    assert "Pairs" not in shown and "not a valid" not in shown and "Error" not in shown


def test_nothing_is_asked_that_means_nothing(tmp_path):
    """A keyboard has no key and no last hole, without a slide there are no plates to choose from, but pairs beat."""
    one, shown = answered(
        tmp_path,
        ("Kind of instrument", "accordion-26"),
        ("calls it", "the red one"),
        ("Reference A", ""),
        ("Temperament", ""),
        ("Good within", ""),
        ("Drop", ""),
        ("Pairs", "far"),
        ("a number from 0 to 20", "15 cents"),
    )
    assert one.order.pairs.to_dict() == {"law": "constant cents", "cents": 15}
    assert not any(word in shown for word in ("Key,", "Last", "Slide:", "Plate", "Its tonic"))
    assert not {"key", "last_hole", "slide"} & json.loads((tmp_path / "asked.json").read_text()).keys()


def test_the_demos_instrument_is_there_to_try_things_out(capsys, tmp_path):
    code, told, _ = called(capsys, "instrument", "new", tmp_path / "boat.json", "--example")
    assert code == 0 and told["instrument"]["name"] == "The river boat's sixteen-hole"
    assert Instrument.read(tmp_path / "boat.json").to_dict() == told["instrument"]


def test_what_an_instrument_names_is_copied_into_the_ledger(capsys, ledger, tmp_path):
    """So that nothing is lost when its file is moved, or those beside it are."""
    layout = {**layouts.load("tremolo-21").document, "id": "mine"}
    (tmp_path / "mine.json").write_text(json.dumps(layout))
    (tmp_path / "stage.csv").write_text("at,cents\nA4,-3\n")
    document = made("tremolo-21").to_dict() | {"layout": "mine.json"}
    document["order"]["offsets"] = "stage.csv"
    (tmp_path / "one.json").write_text(json.dumps(document))
    key = called(capsys, "instrument", "add", tmp_path / "one.json")[1]["instrument"]["key_id"]
    for path in tmp_path.glob("*.[jc]*"):
        path.unlink()
    told = called(capsys, "instrument", "show", key)[1]["instrument"]
    assert told["layout"] == layout and told["order"]["offsets"] == {"A4": -3.0}


def test_the_heading_says_all_that_is_ordered(capsys, tmp_path):
    line = ["--name", "x", "--layout", "tremolo-24", "--temperament", "just", "--tonic", "G", "--drop-cents", "1.5"]
    line += ["--set", 'offsets={"A4": -2}', "--set", "stretch_cents_per_octave=1"]
    line += ["--set", 'pairs={"law": "constant beat", "beats_hz": 3}']
    assert called(capsys, "instrument", "new", tmp_path / "x.json", *line)[0] == 0
    assert run(["instrument", "show", str(tmp_path / "x.json")]) == 0
    lines = capsys.readouterr().out.splitlines()
    heads = next(number for number, line in enumerate(lines) if line.startswith("reed "))
    assert " ".join(" ".join(lines[1:heads]).split()) == (
        "tremolo-24 in C; A = 440 Hz, within 2 cents; just over G; drop in play 1.5 cents; octaves stretched by +1.0 "
        "cents; offsets A4 \u22122.0; pairs beating 3 times a second"
    )
    assert lines[heads].endswith("beats/s") and all(len(line) <= 80 for line in lines)
    beats = [line.split()[-1] for line in lines[heads + 1 :] if line[0].isdigit()]
    assert beats.count("3.00") == beats.count("-") == 24


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
