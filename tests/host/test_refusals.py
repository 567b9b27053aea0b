"""Whatever is handed to a command: one line, an exit code from the table, soon, and never a fault of our own.

Every command is called with every kind of bad file and bad word in every place it takes one.
"""

import json
import os
import random
import struct
import time

import click
import pytest
from reedbench import finding, link
from reedbench.__main__ import run
from reedbench.cli import COMMANDS, cli
from reedbench.commands import find
from reedbench.ledger import Ledger, schema
from shop import instrument as made
from test_exchange import HEAD, pulled

SOON_S = 5.0
OUR_FAULT = "fault in the program itself"


def leaves():
    """Every command that does something, by name."""
    context = click.Context(cli)
    for name in COMMANDS:
        command = cli.get_command(context, name)
        if isinstance(command, click.Group):
            yield from ((f"{name} {inner}", within) for inner, within in command.commands.items())
        else:
            yield name, command


LEAVES = dict(leaves())


@pytest.fixture
def shop(tmp_path, monkeypatch):
    """A folder with a ledger, an instrument and no meter anywhere; what climbs out of it is still in the test's own."""
    tmp_path = tmp_path / "a" / "b" / "c" / "d"
    tmp_path.mkdir(parents=True)
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    monkeypatch.setattr(link, "HELLO_S", 0.2)
    for module in (finding, find):
        monkeypatch.setattr(module, "candidates", list)
    monkeypatch.chdir(tmp_path)
    one = made()
    pulled(tmp_path / "ledger.db", one)
    (tmp_path / "tenor.json").write_text(json.dumps(one.to_dict()))
    return tmp_path


def refused(capsys, line, codes=(1, 2, 3, 4)):
    """The one line on standard error of a command that must fail, and soon."""
    began = time.monotonic()
    code = run([str(word) for word in line])
    out, err = capsys.readouterr()
    assert time.monotonic() - began < SOON_S, line
    assert code in codes, (line, code, out, err)
    assert err.startswith("reedbench: ") and err.count("\n") == 1 and "Traceback" not in err, (line, err)
    assert OUR_FAULT not in err, (line, err)
    assert all(sign == "\n" or sign.isprintable() for sign in err), (line, err)
    return err


def deep(opening, closing=b""):
    return opening * 100_000 + closing


JSON_FILES = {
    "empty": b"",
    "nul": b"\0" * 100,
    "latin": '{"reedbench": "instrument", "name": "Jägers"}'.encode("latin-1"),
    "utf-16": '{"reedbench": "instrument"}'.encode("utf-16"),
    "half": b'{"reedbench": "instr',
    "deep list": deep(b"["),
    "deep object": deep(b'{"a":'),
    "long": b" " * (300 * 1024),
    "number": b"1e400",
    "digits": b'{"version": ' + b"9" * 10_000 + b"}",
    "nan": b'{"reedbench": NaN}',
    "twice": b'{"reedbench": "instrument", "reedbench": "instrument"}',
    "surrogate": b'{"reedbench": "\\ud800"}',
    "string": b'"instrument"',
    "null": b"null",
    "evil": b'{"reedbench": "\\u001b[2J\\u202e"}',
}

BENT = {
    "A = 4400": ("reference_hz", 4400),
    "A = 0": ("reference_hz", 0),
    "A is text": ("reference_hz", "440"),
    "A is true": ("reference_hz", True),
    "A is huge": ("reference_hz", 10**400),
    "tolerance 0": ("tolerance_cents", 0),
    "tolerance below 0": ("tolerance_cents", -1),
    "tolerance null": ("tolerance_cents", None),
    "drop 100": ("drop_cents", 100),
    "temperament": ("temperament", "the usual"),
    "key": ("key", "H"),
    "key list": ("key", ["C"]),
    "layout": ("layout", "../../../etc/passwd"),
    "layout object": ("layout", {}),
    "slide": ("slide", "round"),
    "last hole": ("last_hole", "X"),
    "key id": ("key_id", "../../../../etc/x"),
    "name": ("name", ""),
    "name evil": ("name", "\x1b[2J"),
    "name long": ("name", "x" * 100_000),
    "name surrogate": ("name", "\ud800"),
    "version": ("version", 2),
    "version true": ("version", True),
    "order": ("order", []),
    "stray": ("tuner", 1),
    "kind": ("reedbench", "layout"),
}


def bent(name, value):
    """The instrument with one field that is wrong."""
    document = made().to_dict()
    (document["order"] if name in document["order"] else document)[name] = value
    return json.dumps(document).encode()


INSTRUMENTS = {**JSON_FILES, **{name: bent(*field) for name, field in BENT.items()}}


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_an_instrument_that_is_none(capsys, shop, name):
    (shop / "bad.json").write_bytes(INSTRUMENTS[name])
    paper = shop / "paper.csv"
    paper.write_text(HEAD + "1,blow,out,1,1\n")
    for line in (
        ["instrument", "add", "bad.json"],
        ["instrument", "show", "bad.json"],
        ["instrument", "edit", "bad.json", "--set", "name=x"],
        ["load", "bad.json", "--port", "/dev/no-port"],
        ["import", paper, "--instrument", "bad.json"],
    ):
        assert "bad.json" in refused(capsys, line, (2,))
    with Ledger.open(shop / "ledger.db") as ledger:
        assert [one.key for one in ledger.instruments()] == [made().key_id]


@pytest.mark.parametrize("name", JSON_FILES)
def test_a_desks_instrument_that_is_none(capsys, shop, name):
    (shop / "bad.json").write_bytes(JSON_FILES[name])
    assert "bad.json" in refused(capsys, ["desk", "--mic", "bad.json"], (2,))


def test_a_desks_instrument_with_errors_that_are_none(capsys, shop):
    good = {"reedbench": "desk-instrument", "version": 1, "seed": 1, "instrument": made().to_dict(), "faults": {}}
    for wrong in ({}, {"hidden_cents": [0] * 47}, {"hidden_cents": [1e308] * 48}, {"hidden_cents": ["0"] * 48}):
        (shop / "bad.json").write_text(json.dumps(good | wrong))
        refused(capsys, ["desk", "--mic", "bad.json"], (2,))
    (shop / "bad.json").write_text(json.dumps(good | {"hidden_cents": [0] * 48, "faults": {"cough": 48}}))
    refused(capsys, ["desk", "--mic", "bad.json"], (2,))


@pytest.mark.parametrize("content", [b"", b"SQLite format 3\0" + b"\0" * 84, b"SQLite format 3\0" + b"\xff" * 5000])
def test_a_ledger_that_is_none(capsys, shop, content):
    (shop / "bad.db").write_bytes(content)
    for line in (["survey", "list"], ["plan"], ["pull"], ["ledger", "check"], ["load", "tenor.json"]):
        if content == b"" and line in (["pull"], ["load", "tenor.json"]):
            continue  # an empty file is where a ledger may begin
        refused(capsys, [*line, "--ledger", "bad.db"], (1,))


@pytest.mark.parametrize(
    "name", ["survey list", "plan", "sheet", "pull", "ledger check", "export all", "instrument list"]
)
def test_a_ledger_of_a_newer_version(capsys, shop, name):
    with Ledger.open(shop / "ledger.db", write=True) as ledger, ledger._transaction() as connection:
        connection.execute("INSERT INTO migrations VALUES (?, 'later', 0)", (schema.NEWEST + 1,))
    assert "newer reedbench" in refused(capsys, name.split(), (1,))


def test_what_stands_in_a_ledger_is_not_believed(capsys, shop):
    """A ledger from a stranger: its texts and numbers are those of whoever made it."""
    with Ledger.open(shop / "ledger.db", write=True) as ledger, ledger._transaction() as connection:
        connection.execute("UPDATE instruments SET document = ?", (deep(b"[").decode(),))
    for line in (["plan"], ["sheet"], ["instrument", "list"], ["export", "all"], ["survey", "show"]):
        refused(capsys, line, (2,))
    with Ledger.open(shop / "ledger.db", write=True) as ledger, ledger._transaction() as connection:
        connection.execute("UPDATE instruments SET document = ?", (json.dumps(made("solo-8").to_dict()),))
        connection.execute("UPDATE takes SET ordinal = 65535")
    for line in (["plan"], ["sheet"], ["export", "plan"]):
        refused(capsys, line, (2,))


WORDS = ["", "-", "--", "nowhere", "../../../etc/passwd", "\x1b[2J", "\u202e", "\udcff", "x" * 5000, "-1", "0"]
WORDS += ["99999999999999999999999999", "nan", "inf", "1e999", ".", "..", "%s%n", "{}", "a=b=c"]
# What a command can make of such a word: `demo --out ""` is a folder, a new name for an instrument a name.
MAKES_SOMETHING = ("demo", "desk")


@pytest.mark.parametrize("name", [name for name in LEAVES if name not in MAKES_SOMETHING])
def test_every_word_in_every_place(capsys, shop, name):
    """Done or refused, whichever; never a fault of our own, never anything for a terminal to obey."""
    usual = {"file": "tenor.json", "files": "tenor.json", "instrument": "tenor.json", "shell": "bash", "what": "plan"}
    usual |= {"copy": "copy.db", "key": made().key_id, "survey": "1", "number": "1"}
    arguments = [one for one in LEAVES[name].params if isinstance(one, click.Argument)]
    options = [one for one in LEAVES[name].params if isinstance(one, click.Option) and not one.is_flag]
    for word in WORDS:
        for place in arguments:
            line = [word if one is place else usual[one.name] for one in arguments]
            called(capsys, [*name.split(), "--", *line])
        for place in options:
            line = [usual[one.name] for one in arguments if one.required]
            called(capsys, [*name.split(), place.opts[0], word, "--", *line])


def called(capsys, line):
    began = time.monotonic()
    code = run(line)
    out, err = capsys.readouterr()
    assert time.monotonic() - began < SOON_S, line
    assert code in range(5) and OUR_FAULT not in err and "Traceback" not in err, (line, code, err)
    assert code == 0 or err.count("\n") == 1, (line, err)
    assert "\x1b" not in out + err and "\u202e" not in out + err, line


@pytest.mark.parametrize(
    "line",
    [
        ["sheet", "--out", "pipe"],
        ["export", "plan", "--force", "--out", "pipe"],
        ["instrument", "new", "pipe", "--force", "--name", "x", "--layout", "solo-8"],
        ["ledger", "backup", "pipe", "--force"],
    ],
)
def test_a_pipe_or_a_device_is_never_replaced_by_a_file(capsys, shop, line):
    """As root a device would be gone for everybody: a pipe stands for it here."""
    os.mkfifo("pipe")
    assert "is not replaced by one" in refused(capsys, line, (1,))
    assert (shop / "pipe").is_fifo() and not list(shop.glob(".reedbench-*"))


RECORDINGS = [b"", b"RIFF", b"RIFF\xff\xff\xff\xffWAVEfmt \xff\xff\xff\xff", os.urandom(4000)]


@pytest.mark.parametrize("content", RECORDINGS)
def test_a_recording_that_is_none(capsys, shop, content):
    (shop / "bad.wav").write_bytes(content)
    assert "bad.wav" in refused(capsys, ["hear", "bad.wav"], (2,))


def test_heads_of_recordings_at_random(capsys, shop):
    """A good head with bytes changed: heard or refused."""
    dice = random.Random(4)
    head = b"RIFF\xff\xff\xff\xffWAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 1, 16000, 32000, 2, 16)
    from reedbench.desk.audio import read_words
    from reedbench.errors import BadInput

    outcomes = set()
    for _ in range(400):
        data = bytearray(head + b"data\xff\xff\xff\xff" + b"\1\2" * 50)
        for _ in range(dice.randrange(1, 4)):
            data[dice.randrange(44)] = dice.choice((0, 1, 2, 255, dice.randrange(256)))
        (shop / "bad.wav").write_bytes(data)
        try:
            read_words(shop / "bad.wav")
            outcomes.add("heard")
        except BadInput:
            outcomes.add("refused")
    assert outcomes == {"heard", "refused"}


def test_instruments_at_random(capsys, shop):
    """A good file with bytes changed: taken or refused, never more."""
    dice = random.Random(5)
    good = json.dumps(made().to_dict()).encode()
    codes = set()
    for _ in range(300):
        data = bytearray(good)
        for _ in range(dice.randrange(1, 4)):
            data[dice.randrange(len(data))] = dice.randrange(256)
        (shop / "bad.json").write_bytes(data)
        codes.add(run(["instrument", "show", "bad.json"]))
        assert OUR_FAULT not in capsys.readouterr().err, bytes(data)
    assert codes == {0, 2}
