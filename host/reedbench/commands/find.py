"""`reedbench find`: which meters are connected?"""

from collections.abc import Iterator
from dataclasses import asdict

import click

from reedbench.errors import NoMeter
from reedbench.finding import NONE_CONNECTED, Other, look
from reedbench.link import Meter
from reedbench.options import json_option, port_option
from reedbench.output import columns, report
from reedbench.port import candidates


@click.command("find")
@port_option
@json_option
def command(port: str | None, as_json: bool) -> None:
    """List the meters that are connected.

    Every connected board that may be a meter is asked. `--port` asks on that port only.

    \b
    Example:
        reedbench find
    """
    ports = [port] if port else [candidate.device for candidate in candidates()]
    if not ports:
        raise NoMeter(NONE_CONNECTED)
    meters, others = look(ports)
    if not meters:
        raise NoMeter("; ".join(other.why for other in others))
    data = {"meters": [_as_dict(meter) for meter in meters], "others": [asdict(other) for other in others]}
    report(data, _lines(meters, others), as_json)


def _as_dict(meter: Meter) -> dict[str, str | int]:
    return {
        "port": meter.port,
        "meter": meter.serial,
        "board": meter.board,
        "firmware": meter.firmware,
        "protocol": meter.protocol,
        "epoch": meter.epoch,
        "records": meter.next_sequence - meter.first_sequence,
        "free_bytes": meter.free_bytes,
        "torn": meter.torn,
        "home": meter.home,
    }


def _lines(meters: list[Meter], others: list[Other]) -> Iterator[str]:
    rows = [("port", "meter", "board", "firmware", "records", "free kB")]
    for meter in meters:
        held = meter.next_sequence - meter.first_sequence
        rows.append((meter.port, meter.serial, meter.board, meter.firmware, str(held), str(meter.free_bytes // 1000)))
    yield from columns(rows)
    for other in others:
        yield other.why
