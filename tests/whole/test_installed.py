"""The wheel is all that a user has: it carries the firmware, and the demo runs from it."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

HOST = Path(__file__).resolve().parents[2] / "host"


@pytest.mark.exhaustive
def test_the_demo_runs_from_the_wheel(tmp_path: Path, micropython_program: str) -> None:
    pip = [sys.executable, "-m", "pip", "--quiet", "--disable-pip-version-check"]
    subprocess.run([*pip, "wheel", "--no-deps", "--wheel-dir", tmp_path, HOST], check=True, timeout=240)
    (wheel,) = tmp_path.glob("reedbench-*.whl")
    folder = tmp_path / "installed"
    subprocess.run([*pip, "install", "--no-deps", "--target", folder, wheel], check=True, timeout=120)

    def python(*arguments: object) -> str:
        environment = {**os.environ, "PYTHONPATH": str(folder)}
        command = [sys.executable, *map(str, arguments)]
        done = subprocess.run(command, capture_output=True, text=True, env=environment, cwd=tmp_path, timeout=240)
        assert done.returncode == 0, done.stderr
        return done.stdout

    where = "import reedbench; print(reedbench.__file__, reedbench.firmware_path())"
    assert python("-c", where).split() == [f"{folder}/reedbench/__init__.py", f"{folder}/reedbench/firmware"]
    assert int(python("-c", "from reedbench.image import board_files; print(len(board_files()))")) > 40
    python("-m", "reedbench", "instrument", "new", tmp_path / "boat.json", "--example")
    result = json.loads(python("-m", "reedbench", "demo", "--json", "--out", tmp_path / "demo"))
    assert len(result["reeds"]) == 64 and Path(result["sheet"]).stat().st_size > 10_000
