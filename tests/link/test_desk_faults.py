"""The desk meter with something wrong with it, and a survey whose state of sounding changes on the way."""

import json
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Player, ReedPlayer
from reedbench.desk.scenario import demo_scenario
from reedbench.desk.watch import braille
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from reedbench.pull import pull
from reedbench.reading import readings
from reedbench.surveys import in_state, takes_of
from terminal import PATIENCE_S, pixels, terminal

pytestmark = pytest.mark.usefixtures("micropython_program")
SCREENS = Path(__file__).parent.parent / "screens" / "expected"


def test_a_memory_that_cannot_be_read_is_said_on_the_screen(micropython: Callable[..., Any], tmp_path: Path) -> None:
    """Where the newest piece of the journal should be there is a folder, which no file system lets anybody read."""
    flash, screens = tmp_path / "flash", tmp_path / "screens"
    micropython(
        "from boards.desk import bench\n"
        "bench.settings.update(flash=values, faults=[])\n"
        "from boards.desk import store\n"
        "import os\n"
        "root = store.mount()\n"
        "os.mkdir(root + '/journal')\n"
        "os.mkdir(root + '/journal/00000000')\n"
        "print(0)",
        str(flash),
    )
    screens.mkdir()
    with DeskMeter(Player(), flash=flash, screens=screens) as meter:
        meter.wait()
        assert "the meter's memory failed" in meter.printed()
    shown = sorted(screens.iterdir())
    assert pixels(shown[-1]) == pixels(SCREENS / "en-memory-unread.png")


@contextmanager
def desk(*arguments: str) -> Iterator[str]:
    """The port of `reedbench desk`."""
    command = [sys.executable, "-m", "reedbench", "desk", "--json", *arguments]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout
        lines = []
        while not lines or lines[-1] != "}\n":
            lines.append(process.stdout.readline())
            assert lines[-1], "the desk meter did not start"
        try:
            yield json.loads("".join(lines))["port"]
        finally:
            process.terminate()


def surveyed(port: str, ledger: Ledger, enough: Callable[[dict[str, Any]], bool]) -> None:
    """Loads the demo's instrument and waits until the meter's status is as wanted."""
    with converse(port, ledger.identity) as meter:
        load(meter.link, demo_scenario(1).instrument, "covers off", 0)
        until = time.monotonic() + PATIENCE_S
        while not enough(meter.link.request("status")):
            assert time.monotonic() < until
            time.sleep(0.05)


class Counting(ReedPlayer):
    """Counts the blocks that the microphone dropped, each while somebody played or not."""

    dropped = 0

    def samples(self, need: int, count: int, lost_ms: int, words: list[str] | None) -> Any:
        self.dropped += lost_ms % 50 == 16  # a pause for writing flash is of 50 ms
        return super().samples(need, count, lost_ms, words)


def test_dropped_blocks_are_lost_and_the_survey_goes_on(tmp_path: Path) -> None:
    player = Counting(demo_scenario(1))
    with DeskMeter(player, faults=["dropped-blocks"]) as meter, Ledger.open(tmp_path / "l.db", write=True) as ledger:
        surveyed(meter.port, ledger, lambda status: status["done"] >= 5)
        assert player.dropped >= 5
        with converse(meter.port, ledger.identity) as talk:
            (survey,) = pull(talk, ledger).kept.surveys
        readings = [take.hz for take in ledger.takes(survey) if take.hz]
    assert len(readings) >= 10


def test_a_full_flash_shows_it_loses_nothing_and_goes_on_after_a_pull(tmp_path: Path) -> None:
    flash = tmp_path / "flash"
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        with desk("--fast", "--fault", "flash-full", "--flash", str(flash), "--screens", str(tmp_path / "s")) as port:
            before = -1

            def stuck(status: dict[str, Any]) -> bool:
                nonlocal before
                time.sleep(1.0)
                same = status["done"] == before > 0
                before = status["done"]
                return same

            surveyed(port, ledger, stuck)
            with converse(port, ledger.identity) as meter:
                pulled = pull(meter, ledger)
                assert pulled.kept.takes >= 2 * before and pulled.freed > 0
                until = time.monotonic() + PATIENCE_S
                while meter.link.request("status")["done"] <= before:
                    assert time.monotonic() < until
                    time.sleep(0.05)
        with (
            desk("--quiet-room", "--flash", str(flash)) as port,
            converse(port, ledger.identity) as meter,
        ):
            assert meter.next_sequence > 0
            assert meter.free_bytes > 1_000_000, "without the fault there is room again"


def test_a_meter_without_microphone_says_so_and_one_without_display_goes_on(tmp_path: Path) -> None:
    with terminal("--fast", "--quiet-room", "--fault", "no-microphone") as watched:
        said = braille(pixels(SCREENS / "en-microphone.png"))
        watched.until(lambda: watched.screen() == said)
        watched.typed(b"q")
        assert watched.end() == (0, "")
    with desk("--fast", "--quiet-room", "--fault", "no-display") as port, converse(port, "here") as meter:
        assert meter.link.request("status")["doing"] == "idle"


def test_a_change_of_state_in_mid_survey_keeps_the_takes_apart(tmp_path: Path) -> None:
    """The player goes on sounding; after 20 seconds the meter is told that the covers are on."""
    keys = "20000:do,20001:up,20002:up,20003:up,20004:do"  # from covers off by plate on bench and plucked to assembled
    with Ledger.open(tmp_path / "l.db", write=True) as ledger:
        with desk("--fast", "--keys", keys) as port:
            surveyed(port, ledger, lambda status: status["doing"] == "surveyed")
            with converse(port, ledger.identity) as meter:
                pull(meter, ledger)
        survey = ledger.survey(1)
        assert survey.states == ("covers off", "assembled") and survey.state == "assembled"
        instrument = demo_scenario(1).instrument
        by_state = {}
        for state in survey.states:
            one = in_state(survey, state)
            taken = takes_of(ledger, one)
            assert {take.state for take in taken} == {state}
            by_state[state] = {n for n, reading in readings(instrument, taken).items() if reading.state == "done"}
        order = instrument.sounding_order()
        off, on = (sorted(order.index(ordinal) for ordinal in by_state[state]) for state in survey.states)
        assert off[:3] == [0, 1, 2] and 3 <= len(off) < 20 < len(on), "assembled all reeds were still to come"
        with pytest.raises(ValueError, match="different states"):
            readings(
                instrument, [take for state in survey.states for take in takes_of(ledger, in_state(survey, state))]
            )
