"""`reedbench load`: send an instrument to the meter."""

import os
from pathlib import Path

import click

from reedbench.benchwork import work_of
from reedbench.calibrating import glance
from reedbench.errors import BadInput, LinkFault
from reedbench.finding import the_meter
from reedbench.firmware.wire.messages import MESSAGES
from reedbench.firmware.wire.record import PLUCKED, STATES, WINDS
from reedbench.instrument import Instrument
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import bases, load
from reedbench.options import json_option, ledger_option, port_option
from reedbench.output import progress, report
from reedbench.surveys import instrument_kept
from reedbench.together import OCTAVE, PAIR, pairs_of
from reedbench.why import reed_named

CONTROL_SINCE = 2  # protocol version of a meter that lets a reed come again
BOTH_SINCE = 3  # ... and that listens to two at once
BOTH = {"pairs": PAIR, "octaves": OCTAVE}
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
@click.option(
    "--control",
    metavar="REED",
    help="Sound this reed, named as in the plan, or the first one, at the start, in the middle and at the end.",
)
@click.option(
    "--both",
    type=click.Choice(tuple(BOTH)),
    help="Hear those together: only the base reed of a pair is called, the lower one of an octave.",
)
@port_option
@ledger_option
@json_option
def command(
    instrument: str,
    state: str,
    wind: str | None,
    pass_number: int,
    control: str | None,
    both: str | None,
    port: str | None,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Send INSTRUMENT to the meter, which then offers its survey.

    INSTRUMENT is an instrument's file, or the key of one that the ledger has. State and wind are what the meter offers
    when the survey begins; its keys can change them. The plan that follows from the last survey goes with it, for the
    bench, and the last readings, for a check.

    With --control the survey tells how far the instrument moved while it was sounded, as it warmed from breath and
    hands; `reedbench survey show` says it, and the readings' uncertainty counts it.

    \b
    Example:
        reedbench load tenor.json --state "covers off"
        reedbench load tenor.json --control first
        reedbench load tremolo.json --both pairs
    """
    if wind and state == STATES[PLUCKED]:
        raise BadInput("a reed that is plucked needs no wind: leave --wind out")
    if both and state == STATES[PLUCKED]:
        raise BadInput("two reeds that are plucked do not sound together: leave --both out")
    if both and control is not None:
        raise BadInput("--control and --both exclude each other: a control reed sounds alone")
    with Ledger.open(ledger_path, write=True) as ledger:
        if os.path.exists(instrument):
            wanted = Instrument.read(instrument)
            ledger.keep_instrument(wanted.key_id, wanted.name, wanted.layout.id, wanted.to_dict())
        else:
            wanted = instrument_kept(ledger, instrument)
        again = None if control is None else _ordinal(wanted, control)
        work = work_of(ledger, wanted)
        if state != STATES[PLUCKED]:
            wind = wind or wanted.layout.wind
        with (
            converse(the_meter(port), ledger.identity) as meter,
            progress("sending reed", len(wanted.reeds) + len(work)) as step,
        ):
            if again is not None and meter.protocol < CONTROL_SINCE:
                raise LinkFault("the meter's firmware is too old for a control reed: update it, or leave --control out")
            if both and meter.protocol < BOTH_SINCE:
                raise LinkFault("the meter's firmware is too old for pairs heard together: update it")
            looked = glance(meter, ledger)
            sounded = f"{state}, {wind}" if wind else state
            known = work if meter.protocol >= MESSAGES["work"].since else ()
            if both:  # it tells nothing of the others
                known = [one for one in known if one["ordinal"] in bases(wanted, BOTH[both])]
            stored = load(meter.link, wanted, sounded, pass_number, step, again, known, BOTH[both] if both else None)
    data = {
        "meter": meter.serial,
        "instrument": wanted.key_id,
        "name": wanted.name,
        "state": state,
        "wind": wind,
        "both": both,
        "pass": pass_number,
        "reeds": stored,
        "control": again,
        "clock": looked.as_dict(),
        "work": len(known),
    }
    lines = [f"{wanted.name}: {stored} reeds are in the meter."]
    lines += _of_pairs(wanted, both) if state != STATES[PLUCKED] else []
    report(data, [*lines, *([looked.line()] if looked.told else [])], as_json)


def _of_pairs(instrument: Instrument, both: str | None) -> list[str]:
    """What to mute, where one place sounds two reeds."""
    if both:
        return ["Let both reeds of each place that is called sound, and hold them."]
    there = {interval for _, _, interval in pairs_of(instrument)}
    ways = [f"`reedbench load {instrument.key_id} --both {way}`" for way, interval in BOTH.items() if interval in there]
    if not ways:
        return []
    return [f"Mute the partner of each reed that is called. Both together are the next walk: {' and '.join(ways)}."]


def _ordinal(instrument: Instrument, control: str) -> int:
    """The control reed's number in the layout."""
    return instrument.sounding_order()[0] if control == "first" else reed_named(instrument, control).ordinal
