"""What goes onto a board: all of it compiled, nothing of the desk or the host in it, and not too much."""

import ast

import pytest
from reedbench.image import (
    BOOT,
    PROCESSORS,
    SLOTS,
    board_files,
    boot_file,
    firmware_files,
    slot_of,
    sources,
    understood_by,
)
from tree import firmware, imports, module, shown, tree, within

# Feature byte of an .mpy file: native code's architecture in bits 2 to 5 (MicroPython documentation, "mpy files").
ARMV6M, ARMV7EMSP = 4, 7
UNDERSTOOD = 0x1306
# Computed from MicroPython's py/persistentcode.h for a processor with Thumb-2 and short floats; not seen on a board.
UNDERSTOOD_BY_PICO_2 = 0x1F06
# Modules of MicroPython's own rp2 image (MicroPython documentation, "rp2" and the standard libraries).
BUILT_IN = (
    "array", "binascii", "errno", "framebuf", "gc", "io", "json", "machine", "math", "micropython", "os", "rp2",
    "select", "struct", "sys", "time", "vfs",
)  # fmt: skip


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return board_files()


def test_all_of_it_is_compiled_for_the_board(files: dict[str, bytes]) -> None:
    compiled = {name: data for name, data in files.items() if name != BOOT}
    architectures = set()
    for name, data in compiled.items():
        assert name.endswith(".mpy"), f"{name} is not compiled"
        # Version 6 is that of MicroPython 1.19 and later (same source).
        assert data[:2] == b"M\x06", f"{name} is not bytecode of MicroPython 1.28"
        architectures.add(data[2] >> 2 & 15)
    assert architectures == {0, ARMV6M}, "native code for another processor"


def test_a_board_can_tell_whether_it_understands_them(files: dict[str, bytes]) -> None:
    """By `sys.implementation._mpy` of MicroPython 1.28.0 for the Pico, as an emulated one prints it."""
    assert understood_by({name: data for name, data in files.items() if name != BOOT}) == UNDERSTOOD & 0x3FFF


def test_it_compiles_for_a_pico_2() -> None:
    compiled = firmware_files(processor=PROCESSORS[ARMV7EMSP])
    assert {data[2] >> 2 & 15 for data in compiled.values()} == {0, ARMV7EMSP}
    assert understood_by(compiled) == UNDERSTOOD_BY_PICO_2


def test_it_starts(files: dict[str, bytes]) -> None:
    for slot in SLOTS:
        boot = boot_file(slot)
        assert slot_of(boot) == slot
        started = [node.names[0].name for node in ast.walk(ast.parse(boot)) if isinstance(node, ast.Import)]
        assert started == ["sys", "reedmeter"]
    assert slot_of(files[BOOT]) == SLOTS[0] and f"{SLOTS[0]}/reedmeter.mpy" in files
    for other in (b"", b"print('hello')\n", boot_file("reed-c"), b"# " + boot_file(SLOTS[0])):
        assert slot_of(other) is None, "another program would be taken for ours"


def test_there_is_no_watchdog() -> None:
    """It would reset the board in the middle of an installation or of somebody's work at the prompt."""
    for path in firmware():
        used = {node.attr for node in ast.walk(tree(path)) if isinstance(node, ast.Attribute)}
        assert "WDT" not in used and not any(line.name.endswith(".WDT") for line in imports(path)), shown(path)


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
