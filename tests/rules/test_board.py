"""What goes onto a board: all of it compiled, nothing of the desk or the host in it, and not too much."""

import ast

import pytest
from reedbench.image import START, board_files, sources
from tree import firmware, imports, module, shown, within

LARGEST = 120_000  # bytes, of a flash that is to hold 5,000 takes, the firmware and its update
# Feature byte of an .mpy file: native code's architecture in bits 2 to 5 (MicroPython documentation, "mpy files").
ARMV6M = 4
# Modules of MicroPython's own rp2 image (MicroPython documentation, "rp2" and the standard libraries).
BUILT_IN = (
    "array", "binascii", "errno", "framebuf", "gc", "io", "json", "machine", "math", "micropython", "os", "rp2",
    "select", "struct", "sys", "time", "vfs",
)  # fmt: skip


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return board_files()


def test_all_of_it_is_compiled_for_the_board(files: dict[str, bytes]) -> None:
    compiled = {name: data for name, data in files.items() if name != "main.py"}
    architectures = set()
    for name, data in compiled.items():
        assert name.endswith(".mpy"), f"{name} is not compiled"
        # Version 6 is that of MicroPython 1.19 and later (same source).
        assert data[:2] == b"M\x06", f"{name} is not bytecode of MicroPython 1.28"
        architectures.add(data[2] >> 2 & 15)
    assert architectures == {0, ARMV6M}, "native code for another processor"


def test_it_starts(files: dict[str, bytes]) -> None:
    assert files["main.py"] == START
    [started] = [node for node in ast.walk(ast.parse(START)) if isinstance(node, ast.Import)]
    assert f"{started.names[0].name}.mpy" in files


def test_nothing_of_the_desk_or_the_host_is_in_it(files: dict[str, bytes]) -> None:
    for name, data in files.items():
        assert "desk" not in name and b"desk" not in data, f"{name} knows of the desk"
        assert "explained" not in name, f"{name} is words that a board has no memory for"


@pytest.mark.parametrize("name", sources())
def test_what_a_file_imports_is_there_too(name: str) -> None:
    path = sources()[name].resolve()
    ours = {module(one): one for one in firmware()}
    there = {one.resolve() for one in sources().values()}
    for line, imported in imports(path):
        if within(imported, *BUILT_IN):
            continue
        wanted = "boards.pico" + imported.removeprefix("board") if within(imported, "board") else imported
        # "wire.errors.WireError" is a name within a module, "wire.frames" a module itself.
        found = ours.get(wanted) or ours.get(wanted.rpartition(".")[0])
        assert found in there, f"{shown(path)}:{line}: {imported} is not on the board"


def test_it_is_small(files: dict[str, bytes]) -> None:
    size = sum(len(data) for data in files.values())
    assert size < LARGEST, f"{size} bytes"
