"""How the house is kept: small files, words on every door, nothing lying about."""

import ast
from fnmatch import fnmatch
from pathlib import Path

import pytest
from tree import ROOT, firmware, host, shown, tree

LONGEST = 400  # lines
TOP = {"README.md", "DEVELOPERS.md", "Makefile", "LICENSE", "firmware", "host", "hardware", "tests", "docs", ".ci"}
TOP |= {".gitignore"}
OTHER_ROOMS = ("../" + "shared", "/" + "work/")  # pieced together, lest this file be what it looks for


def ignored(path: Path) -> bool:
    """Whether git would not look at `path`, by our own .gitignore, which holds plain names only."""
    patterns = [line.rstrip("/") for line in (ROOT / ".gitignore").read_text().split()]
    return any(fnmatch(part, pattern) for part in path.relative_to(ROOT).parts for pattern in [".git", *patterns])


def files() -> list[Path]:
    """Every file of the house that git would keep; links are not followed."""
    found = []
    waiting = [ROOT]
    while waiting:
        for path in waiting.pop().iterdir():
            if ignored(path) or path.is_symlink():
                continue
            (waiting if path.is_dir() else found).append(path)
    return sorted(found)


def text_of(path: Path) -> str | None:
    """Content of a text file, None for any other."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None


SOURCES = [path for path in files() if path.suffix in (".py", ".toml", ".html", ".svg", ".css", ".j2", ".sh")]
TEXTS = [path for path in files() if ROOT / "tests" not in path.parents and text_of(path) is not None]


def test_the_lists_are_not_empty() -> None:
    names = {shown(path) for path in SOURCES}
    assert {"firmware/main.py", "host/reedbench/cli.py", "host/pyproject.toml", "tests/conftest.py"} <= names
    assert "Makefile" in {shown(path) for path in TEXTS}


def test_the_top_of_the_house_holds_only_what_belongs_there() -> None:
    there = {path.name for path in ROOT.iterdir() if not ignored(path)}
    assert there <= TOP, f"move or remove {', '.join(sorted(there - TOP))}"


def test_there_is_a_licence() -> None:
    assert (ROOT / "LICENSE").read_text().startswith("MIT License")


@pytest.mark.parametrize("path", SOURCES, ids=shown)
def test_a_source_is_short(path: Path) -> None:
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= LONGEST, f"{shown(path)} has {lines} lines: split it by ideas"


@pytest.mark.parametrize("path", TEXTS, ids=shown)
def test_nothing_speaks_of_places_outside(path: Path) -> None:
    for number, line in enumerate((text_of(path) or "").splitlines(), start=1):
        for place in OTHER_ROOMS:
            assert place not in line, f"{shown(path)}:{number} mentions {place}, which nobody else has"


@pytest.mark.parametrize("path", [*firmware(), *host()], ids=shown)
def test_every_public_thing_says_what_it_is(path: Path) -> None:
    """Modules, classes and functions; what a method means may stand in its class's docstring."""
    kinds = (ast.ClassDef, ast.FunctionDef, ast.AsyncFunctionDef)
    public = [node for node in tree(path).body if isinstance(node, kinds) and not node.name.startswith("_")]
    silent = [f"{node.name} (line {node.lineno})" for node in public if not ast.get_docstring(node)]
    if not ast.get_docstring(tree(path)):
        silent.append("the module itself")
    assert not silent, f"{shown(path)}: no docstring for {', '.join(silent)}"
