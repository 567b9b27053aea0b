"""Flash is written by the store's pen alone, and the pen does not write while the microphone may be running."""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tree import FIRMWARE, firmware, shown, tree

STORE = FIRMWARE / "meter" / "store.py"
DESK = FIRMWARE / "boards" / "desk"  # there is no flash chip on a desk
CHANGES = ("remove", "rename", "mkdir", "rmdir", "unlink", "truncate")
BELOW = ("mkfs", "VfsLfs2", "writeblocks")  # under the file system
MODULES = ("os", "io", "vfs")


def name_of(call: ast.Call) -> str:
    """Last name of what is called: "rename" for os.rename."""
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def writes(call: ast.Call) -> bool:
    """Whether the call opens a file other than for reading, or changes the file system itself."""
    if name_of(call) in BELOW:
        return True
    if isinstance(call.func, ast.Attribute) and ast.unparse(call.func.value) not in MODULES:
        return False  # a list's remove, a pen's append
    if name_of(call) == "open":
        modes = [*call.args[1:2], *(keyword.value for keyword in call.keywords if keyword.arg == "mode")]
        return any(not isinstance(mode, ast.Constant) or set(str(mode.value)) & set("wax+") for mode in modes)
    return name_of(call) in CHANGES


def writing_calls(path: Path) -> Iterator[ast.Call]:
    """Calls in `path` that write."""
    return (node for node in ast.walk(tree(path)) if isinstance(node, ast.Call) and writes(node))


@pytest.mark.parametrize("path", [path for path in firmware() if path != STORE and DESK not in path.parents], ids=shown)
def test_nobody_but_the_store_writes(path: Path) -> None:
    for call in writing_calls(path):
        pytest.fail(f"{shown(path)}:{call.lineno}: {ast.unparse(call)} writes flash without the store's pen")
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import | ast.ImportFrom):
            watched = ("open", *MODULES, *CHANGES)
            renamed = [alias.asname for alias in node.names if alias.asname and alias.name in watched]
            assert not renamed, f"{shown(path)}:{node.lineno}: {renamed} could write under another name"


def test_inside_the_store_only_the_pen_writes_and_only_where_it_may() -> None:
    """Each path that is written comes from `self._at`, which looks whether the pen is down."""
    [pen] = [node for node in tree(STORE).body if isinstance(node, ast.ClassDef) and node.name == "_Pen"]
    held = {id(node) for node in ast.walk(pen)}
    found = list(writing_calls(STORE))
    assert {name_of(call) for call in found} == {"open", "rename", "remove", "mkdir"}
    for call in found:
        place = f"{shown(STORE)}:{call.lineno}: {ast.unparse(call)}"
        assert id(call) in held, f"{place} stands outside the pen"
        paths = call.args[:1] if name_of(call) == "open" else call.args
        for argument in paths:
            assert ast.unparse(argument).startswith("self._at("), f"{place} does not ask whether the pen is down"


USES = """
import os
from meter.store import Store
from quiet import Microphone
microphone = Microphone(running=True)
store = Store(values, microphone)
uses = {
    "append": lambda pen: pen.append("x", b"y"),
    "replace": lambda pen: pen.replace("x", b"y"),
    "cut": lambda pen: pen.cut("x", 0),
    "remove": lambda pen: pen.remove("x"),
    "folder": lambda pen: pen.folder("f"),
}
with store.writing() as pen:
    pen.append("x", b"kept")
    assert set(uses) == {name for name in dir(pen) if name[0] != "_"}, "a use of the pen is not tried here"
refused = []
def attempt(pen):
    for name in sorted(uses):
        try:
            uses[name](pen)
        except RuntimeError:
            refused.append(name)
"""
ALL = ["append", "cut", "folder", "remove", "replace"]
TOLD = "\nprint(json.dumps([refused, store.read('x').decode(), sorted(os.listdir(values))]))"


@pytest.mark.parametrize(
    "script",
    [
        pytest.param("attempt(store.writing())", id="a pen never taken up"),
        pytest.param("attempt(pen)", id="a pen put away"),
        pytest.param(
            "microphone.stop()\nwith store.writing() as pen:\n pass\nattempt(pen)",
            id="a pen put away while the microphone stands still anyway",
        ),
        pytest.param(
            "try:\n with store.writing() as pen:\n  raise KeyError()\nexcept KeyError:\n pass\nattempt(pen)",
            id="a pen dropped",
        ),
        pytest.param(
            "with store.writing() as pen:\n microphone.start()\n attempt(pen)",
            id="somebody starts the microphone while the pen is down",
        ),
        pytest.param(
            "first = store.writing()\nfirst.__enter__()\n"
            "with store.writing() as second:\n first.__exit__(None, None, None)\n attempt(second)",
            id="another pen was put away, and the microphone runs again",
        ),
    ],
)
def test_a_pen_writes_nothing_while_the_microphone_may_run(
    micropython: Callable[..., Any], tmp_path: Path, script: str
) -> None:
    flash = tmp_path / "flash"
    flash.mkdir()
    quiet = f"sys.path.append({str(FIRMWARE.parent / 'tests' / 'meter')!r})\n"
    assert micropython(quiet + USES + script + TOLD, str(flash)) == [ALL, "kept", ["x"]]
