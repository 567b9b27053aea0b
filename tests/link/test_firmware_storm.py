"""A storm of lines over the meter's own code: it answers what is sound, drops the rest, and is there afterwards."""

import json
import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

HERE = Path(__file__).parent
TESTS = HERE.parent


def storm(micropython: str, folder: Path, start: int, end: int, seed: int = 3) -> list[Any]:
    path = [TESTS.parent / "firmware", HERE, TESTS / "wire", TESTS / "meter", ".frozen"]
    done = subprocess.run(
        [micropython, "-X", "heapsize=256k", str(HERE / "firmware_storm.py")],
        input=json.dumps({"flash": str(folder / "flash"), "start": start, "end": end, "seed": seed}),
        env={**os.environ, "MICROPYPATH": ":".join(map(str, path))},
        capture_output=True,
        text=True,
        timeout=280,
    )
    assert done.returncode == 0, done.stderr or done.stdout
    told: list[Any] = json.loads(done.stdout)
    return told


def judge(told: list[Any], lines: int) -> None:
    answered, left, least, first, last = told
    assert lines // 20 < answered < lines // 2 and left > 0, "the storm blows in one direction only"
    assert least > 60_000, "memory is kept"
    # What a sound `acknowledge` among them has freed is gone; nothing was added, and the meter is still the same.
    same = ("protocol", "firmware", "board", "serial", "epoch", "next_seq", "torn")
    assert [last[name] for name in same] == [first[name] for name in same]
    assert last["free"] > first["free"] - 200_000


def test_a_short_storm_over_the_firmware(micropython_program: str, tmp_path: Path) -> None:
    judge(storm(micropython_program, tmp_path, 0, 2000), 2000)


@pytest.mark.exhaustive
@pytest.mark.parametrize("part", range(10))
def test_a_million_lines_over_the_firmware(
    micropython_program: str, tmp_path: Path, part: int, tally: Callable[[int, str], None]
) -> None:
    judge(storm(micropython_program, tmp_path, 100_000 * part, 100_000 * (part + 1)), 100_000)
    tally(100_000, "random and mutated lines over the firmware")
