"""`reedbench ledger`: looking after the file that holds everything."""

from pathlib import Path

import click

from reedbench.errors import Failed
from reedbench.ledger import tending
from reedbench.options import json_option, ledger_option
from reedbench.output import report


@click.group("ledger")
def command() -> None:
    """Check, back up and restore the ledger."""


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
