"""`reedbench find`: which meters are connected?"""

import os
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

import click

from reedbench import __version__
from reedbench.errors import NoMeter, ReedbenchError
from reedbench.finding import NOBODY, NONE_CONNECTED, Other, look
from reedbench.ledger import Ledger
from reedbench.link import Meter
from reedbench.options import json_option, ledger_option, port_option
from reedbench.output import columns, note, report
from reedbench.port import candidates

_HEAD = ("port", "what it is", "meter", "board", "firmware", "protocol", "records", "free kB", "home ledger")


@click.command("find")
@port_option
@ledger_option
@json_option
def command(port: str | None, ledger_path: Path, as_json: bool) -> None:
    """List the meters that are connected, and what every other board that may be one is.

    Every connected board of the meter's kind is asked; `--port` asks on that port only. Where one cannot be used a
    line says why, and what to do. The last column says whether your ledger is the one whose pulls free the meter's
    memory.

    \b
    Example:
        reedbench find
        reedbench find --port /dev/ttyACM1
    """
    ports = [port] if port else [candidate.device for candidate in candidates()]
    if not ports:
        raise NoMeter(NONE_CONNECTED)
    meters, others = look(ports)
    identity = _identity(ledger_path)
    data = {
        "meters": [_as_dict(meter, identity) for meter in meters],
        "others": [asdict(other) for other in others],
    }
    if meters or as_json:
        report(data, _lines(meters, others, identity), as_json)
    if not meters:
        raise NoMeter("; ".join(other.why for other in others))


def _identity(path: Path) -> str:
    """Identity of the user's ledger, NOBODY while there is none; one that cannot be read hides no meter."""
    if not os.path.exists(path):
        return NOBODY
    try:
        with Ledger.open(path) as ledger:
            return ledger.identity
    except ReedbenchError as error:
        note(str(error))
        return NOBODY


def _as_dict(meter: Meter, identity: str) -> dict[str, str | int | bool]:
    return {
        "port": meter.port,
        "meter": meter.serial,
        "board": meter.board,
        "firmware": meter.firmware,
        "protocol": meter.protocol,
        "same_version": meter.firmware == __version__,
        "epoch": meter.epoch,
        "records": meter.next_sequence - meter.first_sequence,
        "free_bytes": meter.free_bytes,
        "torn": meter.torn,
        "home": meter.home,
        "is_home": meter.home == identity != NOBODY,
    }


def _lines(meters: list[Meter], others: list[Other], identity: str) -> Iterator[str]:
    rows: list[tuple[str, ...]] = [_HEAD]
    for meter in meters:
        rows.append(
            (
                meter.port,
                "meter",
                meter.serial,
                meter.board,
                meter.firmware,
                str(meter.protocol),
                str(meter.next_sequence - meter.first_sequence),
                str(meter.free_bytes // 1000),
                "none yet" if not meter.home else "yes" if meter.home == identity else "another",
            )
        )
    for other in others:
        rows.append((other.port, other.what, *["-"] * (len(_HEAD) - 2)))
    yield from columns(rows)
    for other in others:
        yield other.why
    for meter in meters:
        if meter.firmware != __version__:
            yield (
                f"{meter.port} has the firmware {meter.firmware}, this program came with {__version__}: they "
                "understand each other, but bring both to the same version when you can"
            )
