"""`reedbench desk`: a meter without the hardware, for trying things out."""

import sys
import tempfile
from pathlib import Path

import click

from reedbench.desk import watch
from reedbench.desk.around import AROUND, PlacedPlayer
from reedbench.desk.live import LivePlayer
from reedbench.desk.meter import FAULTS, FLASH_BYTES, KEYS, DeskMeter
from reedbench.desk.players import Player, ReedPlayer, player_for
from reedbench.desk.scenario import demo_scenario
from reedbench.errors import BadInput, Failed
from reedbench.options import json_option
from reedbench.output import report


@click.command("desk")
@click.option(
    "--mic",
    type=click.Path(path_type=Path),
    help="What the microphone hears: an instrument, by its file; a WAV file; a folder of soundings; or what the demo "
    "kept as scenario.json. Otherwise the demo's instrument.",
)
@click.option("--seed", type=click.IntRange(0, 2**32 - 1), help="Invents other errors for the instrument.")
@click.option(
    "--around",
    type=click.Choice(list(AROUND)),
    metavar="PLACE",
    help=f"Where the meter stands, heard by a model of its microphone: {', '.join(AROUND)}.",
)
@click.option("--quiet-room", is_flag=True, help="Nobody plays.")
@click.option("--live", is_flag=True, help="The microphone is this computer's own; needs the package sounddevice.")
@click.option("--watch", "watched", is_flag=True, help="Draw the screen in this terminal; the keyboard has the keys.")
@click.option("--fast", is_flag=True, help="Let time pass as fast as this computer can.")
@click.option(
    "--keys",
    metavar="MS:KEY,...",
    default="",
    help="Keys to press, and when; one that is held is followed by :hold, as in 500:do,2000:up:hold.",
)
@click.option("--fault", "faults", type=click.Choice(FAULTS), multiple=True, help="What is wrong with the meter.")
@click.option(
    "--crystal",
    "crystal_ppm",
    type=click.FloatRange(-500, 500),
    default=0.0,
    metavar="PPM",
    help="How much too fast the meter's clock runs, parts per million.",
)
@click.option("--screens", type=click.Path(path_type=Path, file_okay=False), help="Write every screen here as PNG.")
@click.option("--flash", type=click.Path(path_type=Path, dir_okay=False), help="Keep the meter's memory in this file.")
@click.option("--serial", default="desk-0001", show_default=True, help="The meter's serial number.")
@json_option
def command(
    mic: Path | None,
    seed: int | None,
    around: str | None,
    quiet_room: bool,
    live: bool,
    watched: bool,
    fast: bool,
    keys: str,
    faults: tuple[str, ...],
    crystal_ppm: float,
    screens: Path | None,
    flash: Path | None,
    serial: str,
    as_json: bool,
) -> None:
    """Start a desk meter: the meter's real firmware on this computer. Other commands reach it with --port.

    It prints its port and runs until Ctrl-C, or until the firmware is asked to leave. Somebody plays the instrument
    that --mic names; load the same one into the meter. Its errors are invented, and hidden from the meter.

    With --watch the terminal shows the meter's screen. Its keys are: up, the arrow up or u; down, the arrow down or d;
    do, Return. Together with Shift the first two are held; do held is m. q leaves.

    \b
    Example:
        reedbench desk --fast --mic tenor.json --seed 7
        reedbench desk --fast --keys 500:do --screens pictures
        reedbench desk --watch --quiet-room
    """
    if live and (mic is not None or seed is not None or quiet_room or fast):
        raise BadInput("--live excludes --mic, --seed, --quiet-room and --fast: what is to be heard plays here and now")
    if crystal_ppm and (fast or live):
        raise BadInput("--crystal excludes --fast and --live: the meter's clock then goes by the samples that it gets")
    if watched:
        if as_json:
            raise BadInput("--watch and --json exclude each other: the terminal shows the screen")
        watch.refuse_other_than_terminal()
    presses = taps(keys)
    if screens:
        _make(screens)
    if flash:
        _check_flash(flash)
    player: Player
    if quiet_room:
        player = Player()
    elif live:
        player = LivePlayer()
    elif mic is not None:
        player = player_for(mic, seed)
    else:
        player = ReedPlayer(demo_scenario(seed or 1))
    if around:
        if not isinstance(player, ReedPlayer):
            raise BadInput("--around needs an instrument that is played: no recording, not --quiet-room, not --live")
        player = PlacedPlayer.instead_of(player, AROUND[around])
    if crystal_ppm and mic is not None and not isinstance(player, ReedPlayer):
        raise BadInput("--crystal excludes recordings: they were not made by that clock")
    with DeskMeter(
        player,
        fast=fast or live,  # live sound has a pace of its own
        flash=flash,
        screens=screens,
        keys=presses,
        serial=serial,
        faults=faults,
        watched=watched,
        crystal_ppm=crystal_ppm,
    ) as meter:
        name = f"desk meter {serial} on {meter.port}"
        if watched:
            watch.watch(meter, name)
        else:
            report({"port": meter.port, "serial": serial}, [f"{name}; Ctrl-C switches it off"], as_json)
            sys.stdout.flush()
            meter.wait()
        trouble = meter.fault or meter.printed()
    if trouble:
        raise Failed(f"the desk meter stopped: {trouble.splitlines()[-1]}")


def taps(text: str) -> list[tuple[int, str, str]]:
    """Key presses from "500:do,2000:up:hold"; BadInput where it is not like that."""
    presses = []
    for part in filter(None, text.split(",")):
        ms, _, key = part.partition(":")
        key, _, press = key.partition(":")
        if not ms.isascii() or not ms.isdigit() or key not in KEYS or press not in ("", "hold"):
            raise BadInput(f"--keys: {part!r} is not a time in milliseconds, a colon and one of {', '.join(KEYS)}")
        presses.append((int(ms), key, press or "tap"))
    return presses


def _make(folder: Path) -> None:
    """Makes the folder unless it is there; Failed where the meter could not write into it."""
    try:
        folder.mkdir(parents=True, exist_ok=True)
        tempfile.TemporaryFile(dir=folder).close()
    except (OSError, ValueError) as error:
        raise Failed(f"{folder} cannot be made: {getattr(error, 'strerror', None) or error}") from error


def _check_flash(path: Path) -> None:
    """BadInput where the file is there and no meter's memory, Failed where it is not and cannot be made."""
    try:
        if not path.exists():
            path.touch()
            path.unlink()
        elif not path.is_file() or path.stat().st_size != FLASH_BYTES:
            raise BadInput(f"{path} is not a desk meter's memory: name one, or a file that is not there yet")
    except (OSError, ValueError) as error:
        raise Failed(f"{path} cannot be written: {getattr(error, 'strerror', None) or error}") from error
