"""An installation is cut at every operation of the flash, and at every word to the board: old or new runs, never half.

The real installer, by mpremote's own work with files, on MicroPython's own littlefs, which starts what the boot file
names. The two firmwares are small ones that notice whether all their parts belong together.
"""

import random
from collections.abc import Callable, Iterator
from pathlib import Path

import cut_flash
import pytest
from board_bench import Prompt, install
from reedbench.errors import Failed, LinkFault
from reedbench.image import BOOT, SLOTS, boot_file, firmware_files
from reedbench.prompt import Board

BLOCK = cut_flash.SECTOR
BLANK = b"\xff" * (BLOCK * 80)
TAKES = {"journal/epoch": b"00000007", "journal/00000000": bytes(range(256)) * 70, "shelf/instrument": b"tenor\n"}
PARTS = {"board": ("keys", "clock"), "meter": ("ear", "survey", "pitch"), "wire": ("record",)}
TAKES_LEAST = 5000  # beside the firmware and the largest instrument

pytestmark = pytest.mark.usefixtures("micropython_program")


def version(name: str) -> dict[str, bytes]:
    """A firmware whose every part says `name`; the parts are of several blocks, of one, and tiny."""
    files = {}
    imports = ""
    for folder, parts in PARTS.items():
        files[f"{folder}/__init__.py"] = b""
        for place, part in enumerate(parts):
            padding = f"# {name * 100}\n" * (30 * place)
            files[f"{folder}/{part}.py"] = f"{padding}said = {name!r}\n".encode()
            imports += f"from {folder} import {part}\nassert {part}.said == {name!r}\n"
    files["reedmeter.py"] = f"{imports}runs = {name!r}\ndef main():\n    pass\n".encode()
    return files


OLD, NEW = version("old"), version("new")


@pytest.fixture
def prompt(tmp_path: Path) -> Iterator[Prompt]:
    prompt = Prompt(tmp_path)
    try:
        yield prompt
    finally:
        prompt.close()


def with_takes(prompt: Prompt) -> bytes:
    """A flash with the old firmware and a journal."""
    prompt.on(BLANK)
    board = Board(prompt)
    for path, data in TAKES.items():
        board.folder(path.partition("/")[0])
        board.write(path, data)
    install(prompt, OLD)
    assert prompt.runs() == "old"
    return prompt.off()


def the_takes_are_there(prompt: Prompt) -> bool:
    board = Board(prompt)
    return all(board.read(path) == data for path, data in TAKES.items())


def fault(prompt: Prompt, image: bytes) -> str:
    """What is wrong with a board after the power went, "" if nothing: it runs, and the next installation completes."""
    prompt.on(image)
    try:
        if (runs := prompt.runs()) not in ("old", "new"):
            return f"it runs {runs}"
        if not the_takes_are_there(prompt):
            return "takes are gone"
        install(prompt, NEW)
        board = Board(prompt)
        left = [name for name in board.names() if name in SLOTS]
        if (prompt.runs(), len(left)) != ("new", 1):
            return f"after the next installation it runs {prompt.runs()} from {left}"
        return ""
    finally:
        prompt.off()


def cut_cases(before: bytes, log: Path, ways: tuple[str, ...]) -> Iterator[tuple[str, bytes]]:
    """The flash after the power went, each with a name."""
    image = bytearray(before)
    for number, operation in enumerate(cut_flash.read_log(log)):
        for way in ways:
            name = f"{number}.{way}"
            yield name, bytes(cut_flash.cut(bytes(image), operation, way, random.Random(name)))
        cut_flash.carry_out(image, operation)


def cuts_of_an_update(prompt: Prompt) -> list[tuple[str, bytes]]:
    before = with_takes(prompt)
    prompt.on(before)
    assert install(prompt, NEW).copied == len(NEW)
    assert prompt.runs() == "new"
    prompt.off()
    return list(cut_cases(before, prompt.log, tuple(cut_flash.WAYS)))


def test_a_sample_of_power_cuts(prompt: Prompt) -> None:
    cases = cuts_of_an_update(prompt)
    assert len(cases) > 300
    assert not [(name, wrong) for name, image in cases[::23] if (wrong := fault(prompt, image))]


@pytest.mark.exhaustive
def test_every_power_cut(prompt: Prompt, tally: Callable[[int, str], None]) -> None:
    cases = cuts_of_an_update(prompt)
    found = [(name, wrong) for name, image in cases if (wrong := fault(prompt, image))]
    tally(len(cases), "power cuts of an installation")
    assert not found


def cable_faults(prompt: Prompt, every: int) -> list[str]:
    """What is wrong after the cable came out at this or that word to the board."""
    before = with_takes(prompt)
    found = []
    for word in range(0, 10_000, every):
        prompt.on(before)
        prompt.execs, prompt.break_at = 0, word
        try:
            install(prompt, NEW)
            assert word > 50, "hardly a word was needed"
            return found
        except LinkFault:
            prompt.break_at = None
            image = prompt.off()
        if wrong := fault(prompt, image):
            found.append(f"word {word}: {wrong}")
    raise AssertionError("it never came to an end")


def test_the_cable_comes_out_at_some_words(prompt: Prompt) -> None:
    assert not cable_faults(prompt, every=13)


@pytest.mark.exhaustive
def test_the_cable_comes_out_at_every_word(prompt: Prompt) -> None:
    assert not cable_faults(prompt, every=1)


def test_a_blank_board_starts_nothing_until_all_is_there(prompt: Prompt) -> None:
    prompt.on(BLANK)
    install(prompt, NEW)
    prompt.off()
    nothing = "OSError(2,)"
    cases = list(cut_cases(BLANK, prompt.log, ("before", "bits")))
    for name, image in cases[::5]:
        prompt.on(image)
        assert prompt.runs() in (nothing, "new"), name
        install(prompt, NEW)
        assert prompt.runs() == "new", name
        prompt.off()


def test_what_was_copied_before_an_interruption_is_not_copied_again(prompt: Prompt) -> None:
    prompt.on(BLANK)
    install(prompt, OLD)
    prompt.execs, prompt.break_at = 0, 60
    with pytest.raises(LinkFault, match="broke off"):
        install(prompt, NEW)
    prompt.break_at = None
    assert prompt.runs() == "old"
    assert 0 < install(prompt, NEW).copied < len(NEW)
    assert install(prompt, NEW).copied == 0


def test_what_another_version_began_is_not_mixed_with_this_one(prompt: Prompt) -> None:
    prompt.on(BLANK)
    install(prompt, OLD)
    board = Board(prompt)
    board.folder("reed-b")
    board.write("reed-b/stray.py", b"said = 'stray'\n")
    install(prompt, NEW)
    assert set(board.hashes("reed-b")) == set(NEW) and prompt.runs() == "new"


def test_a_file_of_the_running_firmware_that_was_spoilt_is_put_right(prompt: Prompt) -> None:
    prompt.on(BLANK)
    install(prompt, NEW)
    Board(prompt).write("reed-a/meter/ear.py", b"said = 'spoilt'\n")
    assert prompt.runs() != "new"
    install(prompt, NEW)
    assert prompt.runs() == "new"


def test_flash_that_does_not_keep_what_is_written_is_noticed_before_the_switch(prompt: Prompt) -> None:
    prompt.on(BLANK)
    install(prompt, OLD)
    spoil = "import builtins\ndef open(path, mode):\n if mode == 'wb': path = path.replace('survey', 'ear')\n"
    prompt.exec(spoil + " return builtins.open(path, mode)")
    with pytest.raises(Failed, match=r"meter/ear\.py reads otherwise than it was written"):
        install(prompt, NEW)
    assert prompt.runs() == "old"


def test_a_full_board_holds_enough_takes_and_is_updated_once_they_are_pulled(prompt: Prompt) -> None:
    """On the flash of a board, with the largest instrument loaded, and once more, after the journal was full."""
    prompt.on(b"\xff" * (352 * BLOCK))
    files = firmware_files()
    install(prompt, files)
    takes = prompt.tell(full=0)["takes"]
    assert takes >= TAKES_LEAST
    other = {path: data[:-1] + b"?" for path, data in files.items()}
    with pytest.raises(Failed, match="the board has no room for a second firmware: pull its takes"):
        install(prompt, other)
    board = Board(prompt)
    assert board.read(BOOT) == boot_file("reed-a") and "reed-b" not in board.names()
    prompt.tell(pulled=takes)
    assert install(prompt, other).copied == len(files)
    assert board.read(BOOT) == boot_file("reed-b") and "reed-a" not in board.names()


def test_a_board_without_room_is_left_as_it_was(prompt: Prompt) -> None:
    prompt.on(b"\xff" * (BLOCK * 35))
    install(prompt, OLD)
    with pytest.raises(Failed, match="the board has no room for a second firmware"):
        install(prompt, NEW)
    assert prompt.runs() == "old" and "reed-b" not in Board(prompt).names()
