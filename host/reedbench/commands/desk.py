"""`reedbench desk`: a meter without the hardware, for trying things out."""

import sys
from pathlib import Path

import click

from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Player, ReedPlayer, player_for
from reedbench.desk.scenario import demo_scenario
from reedbench.errors import BadInput, Failed
from reedbench.options import json_option
from reedbench.output import report

KEYS = ("up", "down", "do")


@click.command("desk")
@click.option(
    "--mic",
    type=click.Path(path_type=Path),
    help="What the microphone hears: a WAV file, a folder of soundings, or an instrument with hidden errors. "
    "Otherwise the demo's instrument.",
)
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), help="Another instrument than the demo's first.")
@click.option("--quiet-room", is_flag=True, help="Nobody plays.")
@click.option("--fast", is_flag=True, help="Let time pass as fast as this computer can.")
@click.option("--keys", metavar="MS:KEY,...", default="", help="Keys to tap, and when: 500:do,2000:up.")
@click.option("--screens", type=click.Path(path_type=Path, file_okay=False), help="Write every screen here as PNG.")
@click.option("--flash", type=click.Path(path_type=Path, dir_okay=False), help="Keep the meter's memory in this file.")
@click.option("--serial", default="desk-0001", show_default=True, help="The meter's serial number.")
@json_option
def command(
    mic: Path | None,
    seed: int | None,
    quiet_room: bool,
    fast: bool,
    keys: str,
    screens: Path | None,
    flash: Path | None,
    serial: str,
    as_json: bool,
) -> None:
    """Start a desk meter: the meter's real firmware on this computer. Other commands reach it with --port.

    It prints its port and runs until Ctrl-C, or until the firmware is asked to leave.

    \b
    Example:
        reedbench desk --fast --keys 500:do --screens pictures
    """
    if mic is not None and seed is not None:
        raise BadInput("--mic and --seed exclude each other: the seed stands in the instrument's file")
    if screens:
        screens.mkdir(parents=True, exist_ok=True)
    player: Player
    if quiet_room:
        player = Player()
    elif mic is not None:
        player = player_for(mic)
    else:
        player = ReedPlayer(demo_scenario(seed or 1))
    with DeskMeter(player, fast=fast, flash=flash, screens=screens, keys=taps(keys), serial=serial) as meter:
        report(
            {"port": meter.port, "serial": serial},
            [f"desk meter {serial} on {meter.port}; Ctrl-C switches it off"],
            as_json,
        )
        sys.stdout.flush()
        meter.wait()
        trouble = meter.fault or meter.printed()
    if trouble:
        raise Failed(f"the desk meter stopped: {trouble.splitlines()[-1]}")


def taps(text: str) -> list[tuple[int, str, str]]:
    """Key presses from "500:do,2000:up"; BadInput where it is not like that."""
    presses = []
    for part in filter(None, text.split(",")):
        ms, _, key = part.partition(":")
        if not ms.isascii() or not ms.isdigit() or key not in KEYS:
            raise BadInput(f"--keys: {part!r} is not a time in milliseconds, a colon and one of {', '.join(KEYS)}")
        presses.append((int(ms), key, "tap"))
    return presses
