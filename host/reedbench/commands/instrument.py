"""`reedbench instrument`: the instruments that the ledger knows."""

from pathlib import Path
from typing import Any

import click

from reedbench.instrument import Instrument
from reedbench.ledger import Ledger
from reedbench.options import json_option, ledger_option
from reedbench.output import columns, report


@click.group("instrument")
def command() -> None:
    """Add, list and show instruments."""


@command.command()
@click.argument("file", type=click.Path(path_type=Path))
@ledger_option
@json_option
def add(file: Path, ledger_path: Path, as_json: bool) -> None:
    """Add the instrument described in FILE, or replace what the ledger has under its key.

    \b
    Example:
        reedbench instrument add tenor.json
    """
    instrument = Instrument.read(file)
    with Ledger.open(ledger_path, write=True) as ledger:
        ledger.keep_instrument(instrument.key_id, instrument.name, instrument.layout.id, instrument.to_dict())
    data = _as_dict(instrument)
    report(data, [f"{instrument.name} is in the ledger under the key {instrument.key_id}."], as_json)


@command.command("list")
@ledger_option
@json_option
def list_(ledger_path: Path, as_json: bool) -> None:
    """List the instruments.

    \b
    Example:
        reedbench instrument list
    """
    with Ledger.open(ledger_path) as ledger:
        stored = ledger.instruments()
    data = {"instruments": [{"key": one.key, "name": one.name, "layout": one.layout} for one in stored]}
    rows = [("key", "name", "layout"), *((one.key, one.name, one.layout) for one in stored)]
    report(data, columns(rows) if stored else ["No instruments yet: `reedbench instrument add FILE`."], as_json)


@command.command()
@click.argument("key")
@ledger_option
@json_option
def show(key: str, ledger_path: Path, as_json: bool) -> None:
    """Show the instrument of that KEY, reed by reed, with its targets.

    \b
    Example:
        reedbench instrument show 6f1c0a9be2d43875
    """
    with Ledger.open(ledger_path) as ledger:
        instrument = Instrument.from_dict(ledger.instrument(key).document, f"instrument {key}")
    order = instrument.order
    lines = [
        instrument.name,
        f"{instrument.layout.id} in {instrument.key}, {order.temperament}, A = {order.reference_hz:g} Hz, "
        f"within {order.tolerance_cents:g} cents",
        *columns([("reed", "plate", "note", "target Hz"), *_rows(instrument)]),
    ]
    report(_as_dict(instrument), lines, as_json)


def _rows(instrument: Instrument) -> list[tuple[str, str, str, str]]:
    reeds = [instrument.reeds[ordinal] for ordinal in instrument.sounding_order()]
    return [(reed.label, reed.plate, reed.note, f"{reed.target_hz:.2f}") for reed in reeds]


def _as_dict(instrument: Instrument) -> dict[str, Any]:
    """The instrument's own description, and its reeds in sounding order."""
    reeds = [instrument.reeds[ordinal] for ordinal in instrument.sounding_order()]
    return {
        "instrument": instrument.to_dict(),
        "reeds": [
            {
                "ordinal": reed.ordinal,
                "place": reed.place,
                "breath": reed.breath,
                "slide": reed.slide,
                "plate": reed.plate,
                "face": reed.face,
                "note": reed.note,
                "target_hz": reed.target_hz,
            }
            for reed in reeds
        ],
    }
