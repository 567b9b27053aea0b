"""The scripts of hardware/on_board find what they come to in the firmware as a board carries it."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest
from reedbench.image import slimmed, sources

SCRIPTS = sorted((Path(__file__).parents[2] / "hardware" / "on_board").glob("*.py"))


@pytest.fixture(scope="module")
def carried() -> dict[str, set[str]]:
    """What each module of the firmware names at its outermost level, by its path."""
    found = {}
    for name, text in slimmed(sources()).items():
        nodes = [node for one in ast.parse(text).body for node in ([one] if isinstance(one, Named) else ast.walk(one))]
        found[name] = {node.name for node in nodes if isinstance(node, Named)}
        found[name] |= {node.id for node in nodes if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)}
        found[name] |= {alias.asname or alias.name for node in nodes if isinstance(node, FROM) for alias in node.names}
    return found


SOURCES = {name: path.read_text(encoding="utf-8") for name, path in sources().items()}
FROM = ast.ImportFrom
Named = (ast.FunctionDef, ast.ClassDef)


def every(texts: dict[str, str]) -> Iterator[str]:
    """Functions, methods, classes and attributes that these modules give."""
    for text in texts.values():
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, Named):
                yield node.name
            elif isinstance(node, ast.Attribute) and isinstance(node.ctx, ast.Store):
                yield node.attr


@pytest.mark.parametrize("script", SCRIPTS, ids=lambda path: path.stem)
def test_it_finds_what_it_comes_to(script: Path, carried: dict[str, set[str]]) -> None:
    nodes = list(ast.walk(ast.parse(script.read_text(encoding="utf-8"))))
    modules, wanted = {}, set()
    for node in nodes:
        if isinstance(node, FROM) and node.module:
            for alias in node.names:
                if f"{node.module}/{alias.name}" in carried:
                    modules[alias.name] = f"{node.module}/{alias.name}"
                elif (path := node.module.replace(".", "/")) in carried:
                    wanted.add((path, alias.name))
    for node in nodes:
        if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name) and node.value.id in modules:
            wanted.add((modules[node.value.id], node.attr))
    assert wanted or modules, "it comes to nothing of the firmware"
    missing = [f"{path}: {name}" for path, name in sorted(wanted) if name not in carried[path]]
    assert not missing, missing
    given = {node.attr for node in nodes if isinstance(node, ast.Attribute)} & set(every(SOURCES))
    assert given <= set(every(slimmed(sources()))), "a board has it under another name: name it in image.ASKED"
    private = {node.attr for node in nodes if isinstance(node, ast.Attribute) and node.attr.startswith("_")}
    assert not private, f"private names are other ones on a board: {private}"
