"""Flash is written by the store's pen alone, and the pen does not write while the microphone may be running."""

import ast
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from tree import FIRMWARE, firmware, shown, tree

STORE = FIRMWARE / "meter" / "store.py"
DESK = FIRMWARE / "boards" / "desk"  # there is no flash chip on a desk
MODULES = ("os", "io", "vfs", "rp2", "builtins", "uos", "uio")
HARMLESS = ("ilistdir", "stat", "statvfs", "urandom", "BytesIO", "StateMachine", "asm_pio", "PIO")  # all else may write
BELOW = ("mkfs", "VfsLfs1", "VfsLfs2", "VfsFat", "writeblocks", "ioctl")  # under the file system
ROUNDABOUT = ("exec", "eval", "__import__", "globals", "execfile")


def name_of(call: ast.Call) -> str:
    """Last name of what is called: "rename" for os.rename."""
    return call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")


def only_reads(call: ast.Call) -> bool:
    """Whether a call of `open` says in plain words that it reads."""
    modes = [*call.args[1:], *(keyword.value for keyword in call.keywords)]
    plain = all(isinstance(mode, ast.Constant) and not set(str(mode.value)) & set("wax+") for mode in modes)
    return plain and not any(isinstance(argument, ast.Starred) for argument in call.args)


def writing(source: ast.AST) -> Iterator[ast.expr | ast.stmt]:
    """Every place in `source` that opens a file other than for reading, changes the file system, or might.

    What is only named counts too: under another name it could be called unseen.
    """
    reading = {id(node.func) for node in ast.walk(source) if isinstance(node, ast.Call) and only_reads(node)}
    for node in ast.walk(source):
        if isinstance(node, ast.ImportFrom):
            if node.module in MODULES and not all(alias.name in HARMLESS for alias in node.names):
                yield node
        elif isinstance(node, ast.Import):
            if any(alias.name in MODULES and alias.asname for alias in node.names):
                yield node
        elif isinstance(node, ast.Attribute):
            of_module = isinstance(node.value, ast.Name) and node.value.id in MODULES
            opens = node.attr == "open" and of_module and id(node) in reading
            if node.attr in BELOW or (of_module and node.attr not in HARMLESS and not opens):
                yield node
        elif isinstance(node, ast.Name):
            handed_on = node.id in MODULES and not any(
                isinstance(one, ast.Attribute) and one.value is node for one in ast.walk(source)
            )
            if node.id in (*BELOW, *ROUNDABOUT) or handed_on or (node.id == "open" and id(node) not in reading):
                yield node


@pytest.mark.parametrize("path", [path for path in firmware() if path != STORE and DESK not in path.parents], ids=shown)
def test_nobody_but_the_store_writes(path: Path) -> None:
    for node in writing(tree(path)):
        pytest.fail(f"{shown(path)}:{node.lineno}: {ast.unparse(node)} can write flash without the store's pen")


@pytest.mark.parametrize(
    "source",
    [
        "open('x', 'wb')", "open('x', 'r+')", "open('x', mode='a')", "open('x', mode)", "open(*x)", "open('x', **how)",
        "open('x', 'x')", "io.open('x', 'w')", "io.FileIO('x', 'w')", "opener = open", "list(map(open, names))",
        "os.remove('x')", "os.unlink('x')", "os.rename('x', 'y')", "os.mkdir('x')", "os.rmdir('x')", "uos.remove('x')",
        "os.mkfs(flash)", "away = os.remove", "getattr(os, 'remove')('x')", "import os as o", "import io as i",
        "from os import remove", "from os import *", "from os import remove as forget", "from io import open as look",
        "vfs.mount(flash, '/')", "vfs.VfsLfs2(flash)", "from vfs import VfsFat", "VfsLfs2.mkfs(flash)",
        "rp2.Flash()", "flash.writeblocks(0, data)", "flash.ioctl(6, 0)", "builtins.open('x', 'w')",
        "exec('x')", "__import__('os').remove('x')",
    ],
)  # fmt: skip
def test_every_way_to_write_is_noticed(source: str) -> None:
    assert list(writing(ast.parse(source)))


@pytest.mark.parametrize(
    "source",
    [
        "open('x')", "open('x', 'rb')", "open('x', mode='r')", "io.open('x')", "os.stat('x')", "os.urandom(4)",
        "from os import urandom", "io.BytesIO(9)", "names.remove('x')", "pen.append('x', data)", "self.open('x', 'w')",
        "import os", "getattr(self, name)",
    ],
)  # fmt: skip
def test_what_only_reads_is_let_be(source: str) -> None:
    assert not list(writing(ast.parse(source)))


def test_inside_the_store_only_the_pen_writes_and_only_where_it_may() -> None:
    """Each path that is written comes from `self._at`, which looks whether the pen is down."""
    [pen] = [node for node in tree(STORE).body if isinstance(node, ast.ClassDef) and node.name == "_Pen"]
    held = {id(node) for node in ast.walk(pen)}
    places = {id(node) for node in writing(tree(STORE))}
    calls = [node for node in ast.walk(tree(STORE)) if isinstance(node, ast.Call)]
    found = [call for call in calls if id(call.func) in places]
    assert len(found) == len(places), "the store names what writes without calling it"
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
