"""Completion as a shell does it: the script is sourced and asked what may follow."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from reedbench.__main__ import run
from reedbench.cli import COMMANDS

PLACE = Path(sys.executable).parent


def script(shell, capsys):
    assert run(["completion", shell]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def in_bash(text, words):
    """What bash would offer after `words`, the last of them unfinished."""
    quoted = " ".join(f"'{word}'" for word in words)
    ask = f"{text}\nCOMP_WORDS=({quoted})\nCOMP_CWORD={len(words) - 1}\n_reedbench_completion reedbench\n"
    ask += 'printf "%s\\n" "${COMPREPLY[@]}"\n'
    environment = {**os.environ, "PATH": f"{PLACE}:{os.environ['PATH']}"}
    done = subprocess.run(["bash", "-c", ask], capture_output=True, text=True, env=environment, timeout=60)
    assert done.returncode == 0 and done.stderr == "", done.stderr
    return done.stdout.split()


@pytest.fixture
def bash(capsys):
    if not shutil.which("bash") or not (PLACE / "reedbench").exists():
        pytest.skip("needs bash, and the command beside this Python")
    text = script("bash", capsys)
    return lambda *words: in_bash(text, words)


def test_bash_offers_commands_their_parts_and_options(bash):
    assert set(bash("reedbench", "")) == set(COMMANDS)
    assert set(bash("reedbench", "in")) == {"install", "instrument"}
    assert set(bash("reedbench", "ledger", "")) == {"check", "backup", "home", "restore"}
    assert {"--port", "--ledger", "--json", "--quiet"} <= set(bash("reedbench", "find", "--"))
    assert set(bash("reedbench", "export", "p")) == {"plan"}
    assert set(bash("reedbench", "completion", "")) == {"bash", "zsh", "fish"}
    assert "--version" in bash("reedbench", "--v")


def test_first_words_are_offered_without_loading_the_commands():
    code = "import sys; from reedbench.__main__ import run; run([]); print(*sys.modules, file=sys.stderr)"
    environment = {
        **os.environ,
        "_REEDBENCH_COMPLETE": "bash_complete",
        "COMP_WORDS": "reedbench pl",
        "COMP_CWORD": "1",
    }
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, env=environment, timeout=60)
    assert done.stdout == "plain,plan\n"
    assert "reedbench.commands." not in done.stderr


@pytest.mark.parametrize("shell", ["zsh", "fish"])
def test_the_other_shells_can_read_their_script(shell, capsys, tmp_path):
    text = script(shell, capsys)
    assert "_REEDBENCH_COMPLETE" in text and f"{shell}_complete" in text
    if not shutil.which(shell):
        pytest.skip(f"there is no {shell} here: its script was not run")
    path = tmp_path / "script"
    path.write_text(text)
    assert subprocess.run([shell, "-n", path], timeout=60).returncode == 0


def test_an_unknown_shell_is_refused(capsys):
    assert run(["completion", "tcsh"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
