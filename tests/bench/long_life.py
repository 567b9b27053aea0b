"""Ten years of a busy shop: what the flash has worn, how long a full meter and a large ledger take.

    .venv/bin/python tests/bench/long_life.py [--quick] [--json]

Every figure is of the desk meter or of this computer; those of an emulated board are measured by tests/emulated.
"""

import argparse
import json
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
from reedbench.desk.meter import DeskMeter, micropython
from reedbench.desk.players import Player
from reedbench.firmware.wire import record
from reedbench.instrument import Instrument
from reedbench.layouts import load as layout
from reedbench.ledger import Ledger, Sender
from reedbench.link import converse
from reedbench.planning import planned
from reedbench.pull import pull

HERE = Path(__file__).parent
FIRMWARE = HERE.parents[1] / "firmware"
# "Min. 100K Program-Erase cycles per sector": features in the data sheets of the W25Q family, to which the Pico's
# W25Q16JV belongs.
ENDURANCE = 100_000
YEARS = 10
TAKES = 100_000
FULL_PULL = 5_000
LEDGER_TAKES = (2_000, 20_000, 200_000)
TAKES_OF_A_SURVEY = 130


def on_meter(**told: Any) -> dict[str, Any]:
    """What long_life_meter.py has found."""
    done = subprocess.run(
        [micropython(), "-X", "heapsize=16m", str(HERE / "long_life_meter.py")],
        input=json.dumps({"what": "wear", "takes": 0, "pull_at": 0, "flash": ""} | told).encode(),
        env={**os.environ, "MICROPYPATH": f"{FIRMWARE}:{HERE.parent / 'meter'}:.frozen"},
        capture_output=True,
        check=True,
    )
    found: dict[str, Any] = json.loads(done.stdout)
    return found


def full_pull(folder: Path, takes: int) -> dict[str, Any]:
    """Pulls so many takes from a desk meter, as fast as the machine can and at the meter's own pace."""
    flash = folder / "flash.img"
    found: dict[str, Any] = {}
    for fast in (True, False):
        filled = on_meter(what="fill", takes=takes, flash=str(flash))
        path = folder / f"pull-{fast}.db"
        with (
            DeskMeter(Player(), fast=fast, flash=flash) as desk,
            Ledger.open(path, write=True) as ledger,
            converse(desk.port, ledger.identity) as meter,
        ):
            began = time.monotonic()
            pulled = pull(meter, ledger)
            seconds = time.monotonic() - began
        assert pulled.kept.records == filled["records"] and pulled.missing == 0
        found["fast_s" if fast else "own_pace_s"] = seconds
    return found | {"records": filled["records"]}


def shop(surveys: int) -> Iterator[list[bytes]]:
    """The records of one survey after another; their reeds are a little off."""
    rng = np.random.default_rng(7)
    sequence = 0
    take = {name: 0 for name, _ in record.TAKE} | {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32, "rate": 16000}
    head = {name: 0 for name, _ in record.SURVEY}
    head |= {"instrument": "00000000000000aa", "name": "Bench tenor", "layout": "solo-16", "reeds": 64}
    head |= {"reference_mhz": 442000, "tolerance_cc": 200}
    reeds = Instrument("00000000000000aa", "Bench tenor", layout("solo-16"), last_hole="D").reeds
    for _ in range(surveys):
        number = sequence
        records = [record.pack("survey", number, head)]
        for place in range(TAKES_OF_A_SURVEY):
            reed = reeds[place % len(reeds)]
            uhz = round(reed.target_hz * 1e6 * 2 ** (rng.normal(0, 4) / 1200))
            values = {"survey": number, "ordinal": reed.ordinal, "number": 1 + place // len(reeds), "uhz": uhz}
            records.append(record.pack("take", number + 1 + place, take | values | {"se_mcent": 50, "span": 8000}))
        sequence = number + len(records) + 1
        records.append(record.pack("end", sequence - 1, {"survey": number, "unix_s": 0}))
        yield records


def grown_ledger(folder: Path, takes: int) -> dict[str, float]:
    """Milliseconds that each thing takes in a ledger of so many takes, the best of five."""
    path = folder / f"{takes}.db"
    sender = Sender("paper", 7, "desk", "0")
    instrument = Instrument("00000000000000aa", "Bench tenor", layout("solo-16"), last_hole="D")
    with Ledger.open(path, write=True) as ledger:
        ledger.keep_instrument(instrument.key_id, instrument.name, instrument.layout.id, instrument.to_dict())
        for records in shop(takes // TAKES_OF_A_SURVEY):
            ledger.keep(sender, records)
    told: dict[str, float] = {"size_mb": path.stat().st_size / 1e6}

    def timed(name: str, work: Callable[[], Any]) -> None:
        best = float("inf")
        for _ in range(5):
            began = time.perf_counter()
            work()
            best = min(best, time.perf_counter() - began)
        told[name] = 1e3 * best

    timed("open_ms", lambda: Ledger.open(path, write=True).__exit__(None, None, None))
    with Ledger.open(path, write=True) as ledger:
        timed("next_ms", lambda: ledger.next_sequence("paper", 7))
        timed("last_survey_ms", lambda: ledger.survey(None))
        timed("surveys_ms", ledger.surveys)
        timed("takes_ms", lambda: ledger.takes(ledger.survey(None).number))
        timed("plan_ms", lambda: planned(ledger, None))
    return told


def measure(quick: bool = False) -> dict[str, Any]:
    """All figures of this page; `quick`: a twentieth of the takes."""
    part = 20 if quick else 1
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        return {
            "often": on_meter(takes=TAKES // part),
            "seldom": on_meter(takes=TAKES // part, pull_at=60_000),
            "full": on_meter(what="fill", takes=TAKES),
            "pull": full_pull(folder, FULL_PULL // part),
            "ledgers": {takes: grown_ledger(folder, takes) for takes in LEDGER_TAKES[: 2 if quick else 3]},
        }


def page(found: dict[str, Any]) -> str:
    """The figures as a chapter of docs/accuracy/figures.md."""
    often, seldom, full, pulled = found["often"], found["seldom"], found["full"], found["pull"]
    lines = [
        "## Long life",
        "",
        f"{often['takes']} takes ({YEARS} years of a busy shop) on the meter's own journal and littlefs. The flash",
        f"chip stands {ENDURANCE} erases of a sector at least (its data sheet). Desk meter.",
        "",
        "| pulled | pulls | erases | most of one sector | of its endurance |",
        "|---|---|---|---|---|",
    ]
    for words, one in (("after each survey", often), ("when the memory is nearly full", seldom)):
        share = 100 * one["erased_most"] / ENDURANCE
        lines.append(f"| {words} | {one['pulls']} | {one['erased']} | {one['erased_most']} | {share:.2f} % |")
    lines += [
        "",
        f"A full meter holds {full['takes']} takes. Its journal is looked through at power-up in "
        f"{full['scan_us'] / 1e3:.0f} ms on the desk, which reads {full['scan_read'] / 1e3:.0f} kB of flash.",
        f"A pull of {pulled['records']} records takes {pulled['fast_s']:.1f} s from a desk meter, "
        f"{pulled['own_pace_s']:.1f} s from one that hears at its own pace beside it.",
        "",
        "| takes in the ledger | MB | open | next record | last survey | all surveys | takes of one | plan |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for takes, one in found["ledgers"].items():
        names = ("open_ms", "next_ms", "last_survey_ms", "surveys_ms", "takes_ms", "plan_ms")
        lines.append(
            f"| {takes} | {one['size_mb']:.0f} | " + " | ".join(f"{one[name]:.1f} ms" for name in names) + " |"
        )
    return "\n".join(lines) + "\n"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--quick", action="store_true")
    parser.add_argument("--json", action="store_true")
    told = parser.parse_args()
    found = measure(told.quick)
    sys.stdout.write(json.dumps(found, indent=2) + "\n" if told.json else page(found))


if __name__ == "__main__":
    main()
