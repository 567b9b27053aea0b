"""`reedbench demo`: the whole job on the desk meter, with an invented instrument."""

import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path

import click

from reedbench.demo import Result, run
from reedbench.desk.players import FolderPlayer, Player, ReedPlayer
from reedbench.desk.scenario import Scenario, demo_scenario
from reedbench.errors import BadInput, Failed
from reedbench.options import json_option
from reedbench.output import note, progress, report
from reedbench.terminal import plan_lines

SCENARIO = "scenario.json"
TAKES = "takes"


@click.command("demo")
@click.option(
    "--seed",
    type=click.IntRange(0, 2**32 - 1),
    default=1,
    show_default=True,
    help="Another seed is another instrument.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path, file_okay=False),
    help="Keep ledger, sheet and the sound of every take in this folder; otherwise a new one for temporary files.",
)
@click.option(
    "--replay",
    type=click.Path(path_type=Path, file_okay=False),
    help="Play the takes that an earlier demo kept with --out, instead of sounding the reeds.",
)
@json_option
def command(seed: int, out: Path | None, replay: Path | None, as_json: bool) -> None:
    """Run the whole job on a desk meter: survey, pull, plan, sheet.

    An invented sixteen-hole chromatic with hidden errors is sounded reed by reed into the microphone of the meter's
    real firmware; what it hears is pulled over a serial port, planned and printed.

    \b
    Example:
        reedbench demo --seed 7 --out river-boat
    """
    folder = _folder(out)
    player: Player
    if replay:
        scenario = Scenario.read(replay / SCENARIO)
        player = FolderPlayer(replay / TAKES)
    else:
        scenario = demo_scenario(seed)
        player = ReedPlayer(scenario, folder / TAKES if out else None)
    scenario.save(folder / SCENARIO)
    if not as_json:
        note(f"sounding {scenario.instrument.name}, {len(scenario.instrument.reeds)} reeds, into the desk meter")
    with progress("surveying reed", len(scenario.instrument.reeds)) as step:
        result = run(scenario, player, folder, step)
    width = min(100, shutil.get_terminal_size((80, 24)).columns)
    report(result.as_dict(), _lines(result, width), as_json)


def _folder(out: Path | None) -> Path:
    if out is None:
        return Path(tempfile.mkdtemp(prefix="reedbench-demo-"))
    if os.path.exists(out / "ledger.sqlite"):
        raise BadInput(f"{out} holds an earlier demo: choose another folder, or remove it")
    try:
        out.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise Failed(f"{out} cannot be made: {error.strerror}") from error
    return out


def _lines(result: Result, width: int) -> Iterator[str]:
    yield from plan_lines(result.plan, width)
    yield ""
    yield f"{len(result.takes)} takes of {len(result.plan.items)} reeds."
    yield f"The sheet for the bench: {result.sheet}"
