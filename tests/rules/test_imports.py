"""Who may import whom, so that data can only flow one way."""

import ast
from pathlib import Path

import pytest
from tree import firmware, host, imports, module, reached, shown, tree, within

# Room of the firmware: what it may import. Plain libraries are those that CPython has too.
PLAIN = ("array", "binascii", "errno", "gc", "json", "math", "os", "struct", "sys", "time")
ON_A_BOARD = ("framebuf", "io", "micropython", "select", "vfs")
ROOMS = {
    "wire": ("wire", "binascii", "math", "struct"),
    "meter": ("meter", "wire", *PLAIN),
    "screens": ("screens", "wire", "math", "sys"),
    "main": ("board", "meter", "screens", "wire", "gc", "sys"),
    "boards.pico": ("boards.pico", "screens.draw", "machine", "rp2", *PLAIN, *ON_A_BOARD),
    "boards.desk": ("boards", "main", "meter", "screens.draw", *PLAIN, *ON_A_BOARD),
}

# Part of the host: what it must not reach, not even by way of others.
TALK = ("reedbench.port", "reedbench.link", "reedbench.finding", "reedbench.load", "reedbench.pull", "serial")
STORE = ("reedbench.ledger", "reedbench.surveys", "sqlite3")
JUDGE = ("reedbench.reading", "reedbench.plan", "reedbench.planning", "reedbench.sheet", "reedbench.terminal")
DESK = ("reedbench.desk", "reedbench.demo", "reedbench.hearing")
NEVER = {
    "reedbench.link": (*STORE, *JUDGE, *DESK),
    "reedbench.pull": (*JUDGE, *DESK),
    "reedbench.ledger": (*TALK, *JUDGE, *DESK),
    "reedbench.reading": (*TALK, *STORE, *DESK, "reedbench.plan", "reedbench.sheet"),
    "reedbench.plan": (*TALK, *STORE, *DESK, "reedbench.sheet", "reedbench.terminal"),
    "reedbench.sheet": (*TALK, *STORE, *DESK),
    "reedbench.terminal": (*TALK, *STORE, *DESK),
    "reedbench.hand": (*TALK, *DESK),
    "reedbench.pages": (*TALK, *DESK),
    "reedbench.desk": (*TALK, *STORE, *JUDGE),
}

# What stands in one place of the host, and where.
COMMANDS = "reedbench.commands"
ONLY = {
    COMMANDS: (COMMANDS,),  # cli.py finds them by name, when they are called
    "reedbench.cli": ("reedbench.__main__",),
    "click": (COMMANDS, "reedbench.cli", "reedbench.options", "reedbench.__main__"),
    "serial": ("reedbench.port", "reedbench.link"),
    "sqlite3": ("reedbench.ledger",),
    "jinja2": ("reedbench.sheet", "reedbench.pages"),
    "mpremote": ("reedbench.prompt",),
    # Whoever knows the desk knows the hidden errors: the player, the demo that shows them, and its command.
    "reedbench.desk.scenario": ("reedbench.desk", "reedbench.demo", COMMANDS + ".demo", COMMANDS + ".desk"),
    "reedbench.desk": ("reedbench.desk", "reedbench.demo", "reedbench.hearing", COMMANDS + ".demo", COMMANDS + ".desk"),
}

PRINTS = "reedbench.output"
# Help is click's own output; a traceback that no log file takes has nowhere else to go.
MAY_WRITE = {("reedbench.cli", "click.echo"), ("reedbench.__main__", "sys.stderr.write")}


def room(path: Path) -> str:
    return next(name for name in ROOMS if within(module(path), name))


@pytest.mark.parametrize("path", firmware(), ids=shown)
def test_a_room_of_the_firmware_imports_only_what_it_may(path: Path) -> None:
    here = room(path)
    for line, name in imports(path):
        assert within(name, *ROOMS[here]), f"{shown(path)}:{line}: {here} must not import {name}"


def test_only_boards_touch_hardware() -> None:
    """The table above, looked at once more: whatever else changes in it, this must not."""
    for here, allowed in ROOMS.items():
        if here != "boards.pico":
            assert not {"machine", "rp2"} & set(allowed), f"{here} must not import machine or rp2"


@pytest.mark.parametrize("path", [*firmware(), *host()], ids=shown)
def test_imports_stand_where_they_can_be_seen(path: Path) -> None:
    """No import by a name that is made up at run time, except cli.py's of the commands."""
    if module(path) == "reedbench.cli":
        return
    hidden = ("__import__", "import_module", "exec", "eval", "compile", "execfile")
    for line, name in calls(path):
        last = name.split(".")[-1]
        by_itself = last in hidden and name.split(".")[0] in (last, "importlib", "builtins")
        assert not by_itself, f"{shown(path)}:{line}: {name}() may import anything unseen"


@pytest.mark.parametrize("path", firmware(), ids=shown)
def test_nothing_in_the_firmware_knows_of_desks(path: Path) -> None:
    if within(module(path), "boards.desk"):
        return
    for number, line in enumerate(path.read_text(encoding="utf-8").splitlines(), start=1):
        assert "desk" not in line.lower(), f"{shown(path)}:{number}: only boards/desk knows that desks exist"


@pytest.mark.parametrize("start", NEVER)
def test_the_flow_on_the_host_is_one_way(start: str) -> None:
    ways = reached(start)
    assert ways, f"there is no {start}: correct the table"
    known = {module(path): path for path in host()}
    for target, way in ways.items():
        for _, name in imports(known[target]):
            assert not within(name, *NEVER[start]), f"{start} must not reach {name}: {' -> '.join(way)} imports it"


@pytest.mark.parametrize("path", host(), ids=shown)
def test_what_stands_in_one_place_stays_there(path: Path) -> None:
    for line, name in imports(path):
        for what, where in ONLY.items():
            if within(name, what):
                assert within(module(path), *where), f"{shown(path)}:{line}: only {', '.join(where)} import {what}"


@pytest.mark.parametrize("path", host(), ids=shown)
def test_the_host_knows_of_the_firmware_only_what_goes_over_the_wire(path: Path) -> None:
    """And the desk's player, which reads the meter's screen, knows the words on it."""
    allowed = ["reedbench.firmware.wire"]
    if within(module(path), "reedbench.desk"):
        allowed += ["reedbench.firmware.screens.strings_en", "reedbench.firmware.screens.strings_de"]
        allowed += ["reedbench.firmware.screens.words"]
    for line, name in imports(path):
        if within(name, "reedbench.firmware"):
            assert within(name, *allowed), f"{shown(path)}:{line}: {name} is the meter's own affair"


@pytest.mark.parametrize("path", host(), ids=shown)
def test_only_output_writes_to_the_terminal(path: Path) -> None:
    if module(path) == PRINTS:
        return
    streams = ("sys.stdout.write", "sys.stdout.buffer.write", "sys.stderr.write", "sys.__stdout__.write")
    for line, name in calls(path):
        writes = name in ("print", "pprint", *streams) or name.split(".")[-1] in ("echo", "secho", "echo_via_pager")
        if writes and (module(path), name) not in MAY_WRITE:
            pytest.fail(f"{shown(path)}:{line}: {name}() writes to the terminal, which is for {PRINTS} alone")


def calls(path: Path) -> list[tuple[int, str]]:
    """(line, dotted name) of everything that `path` calls by a name."""
    called = [(node.lineno, node.func) for node in ast.walk(tree(path)) if isinstance(node, ast.Call)]
    return [(line, ast.unparse(to)) for line, to in called if isinstance(to, ast.Name | ast.Attribute)]
