"""`reedbench ledger`: looking after the file that holds everything."""

from pathlib import Path

import click

from reedbench.errors import Failed, LinkFault
from reedbench.finding import the_meter
from reedbench.ledger import Ledger, tending
from reedbench.link import converse
from reedbench.options import json_option, ledger_option, port_option, sure, yes_option
from reedbench.output import report

HOME_SINCE = 3  # protocol version of a meter whose home can be changed


@click.group("ledger")
def command() -> None:
    """Check, back up and restore the ledger, and make it a meter's home."""


@command.command()
@ledger_option
@json_option
def check(ledger_path: Path, as_json: bool) -> None:
    """Look through the whole ledger, whether it is sound and every record is as the meter sent it.

    \b
    Example:
        reedbench ledger check
    """
    health = tending.check(ledger_path)
    data = {
        "ledger": str(ledger_path.absolute()),
        "sound": not health.faults,
        "surveys": health.surveys,
        "takes": health.takes,
        "records": health.records,
        "instruments": health.instruments,
        "faults": list(health.faults),
    }
    lines = [
        *health.faults[: tending.FAULTS_SHOWN],
        f"{ledger_path}: {health.surveys} surveys, {health.takes} takes, {health.records} records, "
        f"{health.instruments} instruments.",
    ]
    report(data, lines if health.faults else [*lines, "It is sound."], as_json)
    if health.faults:
        raise Failed(f"the ledger {ledger_path} has {len(health.faults)} faults: restore it from a copy")


@command.command()
@click.argument("copy", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Replace COPY where there is one.")
@ledger_option
@json_option
def backup(copy: Path, force: bool, ledger_path: Path, as_json: bool) -> None:
    """Copy the ledger to the file COPY, whole or not at all, even while it is in use.

    \b
    Example:
        reedbench ledger backup /media/stick/ledger-2026-11-25.db
    """
    size = tending.back_up(ledger_path, copy.absolute(), force)
    data = {"ledger": str(ledger_path.absolute()), "copy": str(copy.absolute()), "size_bytes": size}
    report(data, [f"The ledger is copied to {copy}, {size // 1000} kB."], as_json)


@command.command()
@port_option
@yes_option
@ledger_option
@json_option
def home(port: str | None, yes: bool, ledger_path: Path, as_json: bool) -> None:
    """Make this ledger the home of the meter that is connected: the one whose pulls free its memory.

    A new computer, or a ledger that was lost and begun again, becomes the meter's home in this way. Pull with the old
    home before, if there still is one: what the new home has pulled, and the meter has freed, the old one does not get.

    \b
    Example:
        reedbench ledger home
    """
    with Ledger.open(ledger_path, write=True) as ledger, converse(the_meter(port), ledger.identity) as meter:
        if meter.protocol < HOME_SINCE:
            raise LinkFault("the meter's firmware is too old to change its home: `reedbench install` renews it")
        before = meter.home
        if before not in ("", ledger.identity):
            sure(
                "This meter has another home, whose pulls will free its memory no more. Make this ledger its home?", yes
            )
        if before != ledger.identity:
            meter.link.request("home", ledger=ledger.identity)
        data = {
            "meter": meter.serial,
            "home": ledger.identity,
            "home_before": before,
            "ledger": str(ledger.path.absolute()),
        }
    report(data, [f"{ledger_path} is the home of the meter {meter.serial}."], as_json)


@command.command()
@click.argument("copy", type=click.Path(path_type=Path))
@click.option("--force", is_flag=True, help="Put the present ledger aside, under a name with the date.")
@ledger_option
@json_option
def restore(copy: Path, force: bool, ledger_path: Path, as_json: bool) -> None:
    """Make the file COPY, once backed up, the ledger again, after checking it.

    Takes that came after the copy was made are then only in the ledger that was put aside.

    \b
    Example:
        reedbench ledger restore /media/stick/ledger-2026-11-25.db
    """
    aside = tending.restore(ledger_path.absolute(), copy, force)
    lines = [f"{copy} is now the ledger {ledger_path}."]
    if aside:
        lines.append(f"The one before is kept as {aside}.")
    data = {"ledger": str(ledger_path.absolute()), "copy": str(copy.absolute()), "aside": str(aside) if aside else None}
    report(data, lines, as_json)
