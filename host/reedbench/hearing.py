"""Runs the firmware's listening chain over recordings, on MicroPython, as it runs behind the meter's microphone."""

import json
import subprocess
import tempfile
from collections.abc import Callable, Sequence
from os import fspath
from pathlib import Path
from typing import Any

from reedbench import firmware_path
from reedbench.desk.audio import RATE, read_words
from reedbench.desk.meter import HEAP, micropython
from reedbench.errors import Failed
from reedbench.tuning import cents_between, nearest_note, note_hz, note_name
from reedbench.two import gathered, resolve, resolved_dict


def hear(
    paths: Sequence[str | Path],
    expected_hz: float = 0.0,
    reference_hz: float = 440.0,
    both: bool = False,
    step: Callable[[int], None] = lambda done: None,
) -> list[dict[str, Any]]:
    """What the meter would keep of each recording, one dict a file with `file`, `takes` and `refused`.

    expected_hz: pitch of the reed that a survey would expect, 0 without. reference_hz names the notes. both: two reeds
    sound together in all of them. `step` is told how many files are done. Raises BadInput for a file that cannot be
    read, Failed without MicroPython.
    """
    command = micropython()
    heard = []
    with tempfile.TemporaryDirectory(prefix="reedbench-hear-") as folder:
        wanted = []
        for number, path in enumerate(paths):
            words = Path(folder) / f"{number}.words"
            words.write_bytes(read_words(path).astype("<i4").tobytes())
            wanted.append(json.dumps({"file": str(words), "expected_hz": expected_hz, "both": both}))
        script = firmware_path() / "boards" / "desk" / "hear.py"
        listing = Path(folder) / "list"
        listing.write_text("\n".join(wanted) + "\n")
        with (
            listing.open("rb") as lines,
            subprocess.Popen(
                [command, "-X", f"heapsize={HEAP}", str(script)],
                stdin=lines,
                stdout=subprocess.PIPE,
                stderr=subprocess.STDOUT,
            ) as process,
        ):
            assert process.stdout is not None
            for path, line in zip(paths, process.stdout, strict=False):
                if not line.startswith(b"{"):
                    raise Failed(f"the listening chain failed: {(line + process.stdout.read()).decode()[-400:]}")
                heard.append(_in_units(fspath(path), json.loads(line), reference_hz))
                step(len(heard))
    if len(heard) < len(paths):
        raise Failed("the listening chain ended before all recordings were heard")
    return heard


def _in_units(file: str, raw: dict[str, Any], reference_hz: float) -> dict[str, Any]:
    takes: list[dict[str, Any]] = []
    refused = [{"start_s": entry["start"] / RATE, "why": entry["why"], "two": None} for entry in raw["refused"]]
    for entry in raw["takes"]:
        take = _take(entry, reference_hz)
        if take["hz"] is None:
            refused.append({"start_s": take["start_s"], "why": ", ".join(take["flags"]), "two": take["two"]})
        else:
            takes.append(take)
    return {"file": file, "takes": takes, "refused": refused}


def _take(entry: dict[str, Any], reference_hz: float) -> dict[str, Any]:
    band = entry.get("baseband")
    two = resolve(gathered(RATE, band["length"], band["turn"], band["harmonics"], band["points"])) if band else None
    hz = entry["uhz"] / 1e6 or None
    if hz is None and two and two.told:
        hz = max(two.reeds, key=lambda reed: reed.level_db).hz  # the meter had no figure: of the louder reed
    midi = nearest_note(hz, reference_hz) if hz else None
    return {
        "start_s": entry["start"] / RATE,
        "span_s": entry["span"] / RATE,
        "hz": hz,
        "se_cents": entry["se_cents"],
        "check_cents": entry["check_cents"],
        "drift_cents_per_s": entry["drift_cents_per_s"],
        "level_dbfs": entry["level_dbfs"],
        "note": note_name(midi) if midi is not None else "",
        "cents": cents_between(hz, note_hz(midi, reference_hz)) if hz and midi is not None else None,
        "flags": entry["flags"],
        "two": resolved_dict(two, reference_hz) if two else None,
    }
