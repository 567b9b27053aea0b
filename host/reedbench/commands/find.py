"""`reedbench find`: which meters are connected?"""

import os
import textwrap
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import click

from reedbench import __version__
from reedbench.calibrating import watch
from reedbench.errors import Failed, NoMeter, ReedbenchError
from reedbench.finding import NOBODY, NONE_CONNECTED, Other, look, the_meter
from reedbench.ledger import Ledger
from reedbench.link import Meter, converse
from reedbench.options import json_option, ledger_option, port_option
from reedbench.output import clean, note, progress, report
from reedbench.port import candidates


@click.command("find")
@click.option(
    "--clock",
    "seconds",
    type=click.IntRange(1, 86400),
    metavar="SECONDS",
    help="Stay connected to the meter for so long and measure its clock; two minutes are plenty.",
)
@port_option
@ledger_option
@json_option
def command(seconds: int | None, port: str | None, ledger_path: Path, as_json: bool) -> None:
    """List the meters that are connected, and what every other board that may be one is.

    Every connected board of the meter's kind is asked; `--port` asks on that port only. Where one cannot be used a
    line says why, and what to do. The home ledger is the one whose pulls free the meter's memory.

    With --clock the one meter's crystal is measured against this computer's clock, which a time server must hold. The
    meter is told, and corrects its takes from then on. Shorter looks at each load and pull go on with what this began.

    \b
    Example:
        reedbench find
        reedbench find --port /dev/ttyACM1
        reedbench find --clock 120
    """
    if seconds is not None:
        _measure(seconds, port, ledger_path, as_json)
        return
    ports = [port] if port else [candidate.device for candidate in candidates()]
    if not ports:
        raise NoMeter(NONE_CONNECTED)
    meters, others = look(ports)
    identity, to_pull = _known(ledger_path, meters)
    data = {
        "meters": [_as_dict(meter, identity, waiting) for meter, waiting in zip(meters, to_pull, strict=True)],
        "others": [asdict(other) for other in others],
    }
    if meters or as_json:
        report(data, _lines(meters, to_pull, others, identity), as_json)
    if not meters:
        raise NoMeter("; ".join(other.why for other in others))


def _measure(seconds: int, port: str | None, ledger_path: Path, as_json: bool) -> None:
    with (
        Ledger.open(ledger_path, write=True) as ledger,
        converse(the_meter(port), ledger.identity) as meter,
        progress("measuring the clock, second", seconds) as step,
    ):
        found = watch(meter, ledger, seconds, step)
    if found.told or as_json:
        report({"meter": meter.serial, "clock": found.as_dict()}, [found.line()], as_json)
    if not found.told:
        raise Failed(f"the meter's clock stays as it was: {found.why}")


def _known(path: Path, meters: list[Meter]) -> tuple[str, list[int]]:
    """Identity of the user's ledger, and how many records of each meter it lacks.

    Without a ledger that is NOBODY and all of them; one that cannot be read hides no meter.
    """
    if not os.path.exists(path):
        return NOBODY, [meter.records_from(0) for meter in meters]
    try:
        with Ledger.open(path) as ledger:
            ends = [ledger.next_sequence(meter.serial, meter.epoch) for meter in meters]
            return ledger.identity, [meter.records_from(end) for meter, end in zip(meters, ends, strict=True)]
    except ReedbenchError as error:
        note(str(error))
        return NOBODY, [meter.records_from(0) for meter in meters]


def _as_dict(meter: Meter, identity: str, to_pull: int) -> dict[str, str | int | bool]:
    return {
        "port": meter.port,
        "meter": meter.serial,
        "board": meter.board,
        "firmware": meter.firmware,
        "protocol": meter.protocol,
        "same_version": meter.firmware == __version__,
        "epoch": meter.epoch,
        "records": meter.records_from(0),
        "to_pull": to_pull,
        "free_bytes": meter.free_bytes,
        "torn": meter.torn,
        "home": meter.home,
        "is_home": meter.home == identity != NOBODY,
    }


def _lines(meters: list[Meter], to_pull: list[int], others: list[Other], identity: str) -> Iterator[str]:
    for meter, waiting in zip(meters, to_pull, strict=True):
        yield f"{meter.port}: meter {meter.serial}, board {meter.board}, firmware {meter.firmware}"
        records, room = _count(meter.records_from(0), "record"), meter.free_bytes // 1000
        yield f"  {records} in it, {waiting} of them not in your ledger; room for {room} kB more"
        yield f"  home ledger: {_home(meter, identity)}"
        if meter.firmware != __version__:
            yield f"  `reedbench install` brings the firmware of this program, {__version__}, when you can"
    for other in others:
        yield from textwrap.wrap(clean(f"{other.port}: {other.what}: {other.why}"), 80, subsequent_indent="  ")


def _home(meter: Meter, identity: str) -> str:
    if not meter.home:
        return "none yet; the first that pulls"
    return "yours" if meter.home == identity else "another; your pulls free no memory"


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")
