"""The error boundary and the printer: exit codes, one line each, nothing that a terminal would obey."""

import json
import os
import subprocess
import sys

import click
import pytest
from reedbench import cli, output
from reedbench.__main__ import run
from reedbench.errors import BadInput, Failed, LinkFault, NoMeter


def reedbench(*arguments, **options):
    return subprocess.run([sys.executable, "-m", "reedbench", *arguments], text=True, timeout=30, **options)


@pytest.fixture
def raises(monkeypatch):
    """A command that raises what it is given."""

    def arrange(error):
        @click.command("pull")
        def command():
            raise error

        monkeypatch.setattr(cli.LazyGroup, "get_command", lambda *_: command)

    return arrange


@pytest.mark.parametrize(
    ("error", "code"),
    [
        (Failed("x"), 1),
        (BadInput("x"), 2),
        (NoMeter("x"), 3),
        (LinkFault("x"), 4),
        (KeyboardInterrupt(), 130),
    ],
)
def test_exit_codes(raises, capsys, error, code):
    raises(error)
    assert run(["pull"]) == code
    out, err = capsys.readouterr()
    assert out == ""
    assert err == ("\nreedbench: stopped\n" if code == 130 else "reedbench: x\n")


def test_a_fault_of_our_own_goes_to_a_log_file_named_in_one_line(raises, capsys, monkeypatch, tmp_path):
    monkeypatch.setattr("platformdirs.user_log_path", lambda *_: tmp_path / "logs")
    raises(ZeroDivisionError("the very fault"))
    assert run(["pull"]) == 1
    out, err = capsys.readouterr()
    (log,) = (tmp_path / "logs").iterdir()
    assert out == "" and err.count("\n") == 1 and str(log) in err and "Traceback" not in err
    assert "ZeroDivisionError: the very fault" in log.read_text()


@pytest.mark.parametrize(
    "line",
    [
        ["nonsense"],
        ["pull", "--nonsense"],
        ["plan", "seven"],
        ["plan", "1", "2"],
        ["instrument", "add"],
        ["load", "x", "--pass", "100"],
        ["load", "x", "--state", "upside down"],
        ["pull", "\x1b[2J"],
    ],
)
def test_a_wrong_command_line(capsys, line):
    assert run(line) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.startswith("reedbench: ") and err.count("\n") == 1
    assert "--help`" in err and "\x1b" not in err


@pytest.mark.parametrize("content", ["", "{", "[]", '{"reedbench": "instrument"}', "\x00\xff", "[" * 100_000])
def test_a_malformed_instrument_file(capsys, tmp_path, content):
    path = tmp_path / "bad.json"
    path.write_text(content, encoding="latin-1")
    for line in (["instrument", "add", str(path)], ["load", str(path)]):
        assert run([*line, "--ledger", str(tmp_path / "ledger.db")]) == 2
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and "bad.json" in err


def test_an_instrument_that_is_neither_a_file_nor_a_key(capsys, tmp_path):
    for name in ("nowhere.json", "x" * 5000):
        assert run(["load", name, "--ledger", str(tmp_path / "ledger.db")]) == 2
        assert capsys.readouterr().err.count("\n") == 1


def test_help_and_version_and_no_command_at_all():
    for arguments in ([], ["--help"], ["-h"]):
        done = reedbench(*arguments, capture_output=True)
        assert done.returncode == 0 and done.stderr == ""
        assert all(name in done.stdout for name in cli.COMMANDS)
    assert reedbench("--version", capture_output=True).stdout.startswith("reedbench, version ")


def test_help_imports_no_command():
    code = "import sys; from reedbench.__main__ import run; run(['-h']); print(*sys.modules, file=sys.stderr)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=30)
    assert "reedbench.cli" in done.stderr
    assert "reedbench.commands." not in done.stderr and "scipy" not in done.stderr


def test_a_reader_that_has_seen_enough(tmp_path):
    read, write = os.pipe()
    os.close(read)
    done = reedbench("--help", stdout=write, stderr=subprocess.PIPE)
    os.close(write)
    assert (done.returncode, done.stderr) == (1, "")


def test_a_full_disk_behind_the_output():
    if not os.path.exists("/dev/full"):
        pytest.skip("this system has no /dev/full")
    with open("/dev/full", "w") as full:
        done = reedbench("--help", stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 1
    assert done.stderr == "reedbench: the disk is full: not all of the output could be written\n"


def test_clean():
    assert output.clean("a\x1b[31mb\x07\x9b2J\r\nc\td") == "a[31mb2J  c d"
    assert output.clean("\u202eevil\u2066\u200b\ud800\u2028x") == "evil x"
    assert output.clean("Bösendörfer ♯ 日本") == "Bösendörfer ♯ 日本"


def test_json_is_escaped_finite_and_parses(capsys):
    output.report({"name": "\x1b\x7f\u202e", "hz": 1.5}, [], True)
    out = capsys.readouterr().out
    assert all(sign == "\n" or " " <= sign < "\x7f" for sign in out)
    assert json.loads(out) == {"name": "\x1b\x7f\u202e", "hz": 1.5}
    with pytest.raises(ValueError):
        output.report({"hz": float("nan")}, [], True)


def test_columns_put_figures_to_the_right():
    assert output.columns([("reed", "Hz"), ("1 blow", "9.50"), ("2", "440.00"), ("3", "-")]) == [
        "reed        Hz",
        "1 blow    9.50",
        "2       440.00",
        "3            -",
    ]
    assert output.columns([("reed", "Hz")]) == ["reed  Hz"]


def test_a_terminal_without_the_letters_of_a_name(tmp_path):
    from reedbench.ledger import Ledger

    with Ledger.open(tmp_path / "ledger.db", write=True) as ledger:
        ledger.keep_instrument("k", "日本", "solo-12", {})
    environment = {**os.environ, "PYTHONIOENCODING": "ascii", "REEDBENCH_LEDGER": str(tmp_path / "ledger.db")}
    done = reedbench("instrument", "list", capture_output=True, env=environment)
    assert done.returncode == 0 and "\\u65e5" in done.stdout
