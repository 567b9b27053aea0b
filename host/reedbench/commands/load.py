"""`reedbench load`: send an instrument to the meter."""

import os
from pathlib import Path

import click

from reedbench.calibrating import glance
from reedbench.errors import BadInput
from reedbench.finding import the_meter
from reedbench.firmware.wire.messages import MESSAGES
from reedbench.firmware.wire.record import PLUCKED, STATES, WINDS
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from reedbench.options import json_option, ledger_option, port_option
from reedbench.output import progress, report
from reedbench.surveys import instrument_kept

_PASS = next(field for field in MESSAGES["instrument"].ask if field.name == "pass_number")


@click.command("load")
@click.argument("instrument")
@click.option("--state", type=click.Choice(STATES), default=STATES[0], show_default=True, help="How it is sounded.")
@click.option(
    "--wind", type=click.Choice(WINDS), help="What moves the air; otherwise what the instrument is played with."
)
@click.option(
    "--pass",
    "pass_number",
    type=click.IntRange(_PASS.low, _PASS.high),
    default=0,
    show_default=True,
    help="The pass of the work that the survey follows; 0 before any.",
)
@port_option
@ledger_option
@json_option
def command(
    instrument: str, state: str, wind: str | None, pass_number: int, port: str | None, ledger_path: Path, as_json: bool
) -> None:
    """Send INSTRUMENT to the meter, which then offers its survey.

    INSTRUMENT is an instrument's file, or the key of one that the ledger has. State and wind are what the meter offers
    when the survey begins; its keys can change them.

    \b
    Example:
        reedbench load tenor.json --state "covers off"
    """
    if wind and state == STATES[PLUCKED]:
        raise BadInput("a reed that is plucked needs no wind: leave --wind out")
    with Ledger.open(ledger_path, write=True) as ledger:
        if os.path.exists(instrument):
            wanted = Instrument.read(instrument)
            ledger.keep_instrument(wanted.key_id, wanted.name, wanted.layout.id, wanted.to_dict())
        else:
            wanted = instrument_kept(ledger, instrument)
        if state != STATES[PLUCKED]:
            wind = wind or wanted.layout.wind
        with (
            converse(the_meter(port), ledger.identity) as meter,
            progress("sending reed", len(wanted.reeds)) as step,
        ):
            looked = glance(meter, ledger)
            stored = load(meter.link, wanted, f"{state}, {wind}" if wind else state, pass_number, step)
    data = {
        "meter": meter.serial,
        "instrument": wanted.key_id,
        "name": wanted.name,
        "state": state,
        "wind": wind,
        "pass": pass_number,
        "reeds": stored,
        "clock": looked.as_dict(),
    }
    lines = [f"{wanted.name}: {stored} reeds are in the meter."]
    report(data, [*lines, *([looked.line()] if looked.told else [])], as_json)
