"""The page on which the meter tries its own parts: each fault in its own line, in the whole firmware."""

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

START = """
import os
import pocket

meter = pocket.boot(values["root"])
part = meter.part
meter.ear.level = -7112

def look():
    for key in ("up", "do", "up", "do", "do"):  # the last entry of the menu, the last line there, and do again
        pocket.tap(meter, key)
    return pocket.words(meter)

def after(ms):
    pocket.turn(meter, ms)
    return pocket.words(meter)
"""
SOUND = ["Trial", "display works", "microphone -71 dB", "memory works", "keys: "]
Trial = Callable[[str], Any]


@pytest.fixture
def trial(micropython: Callable[..., Any], tmp_path: Path) -> Trial:
    return lambda script: micropython(START + script + "\nprint(json.dumps(told))", {"root": str(tmp_path)})


def test_a_sound_meter_says_so_and_leaves_nothing_behind(trial: Trial) -> None:
    shown, files, running = trial("""
before = sorted(os.listdir(values["root"]))
told = [look(), sorted(os.listdir(values["root"])) == before, part.running]
""")
    assert shown == SOUND
    assert files and running, "what it wrote is gone, and it hears again"


def test_each_key_is_told_as_it_is_pressed_and_once_more_leads_back(trial: Trial) -> None:
    shown = trial("""
look()
told = []
for press in (("down", "tap"), ("up", "hold"), ("do", "tap"), ("down", "tap")):
    pocket.tap(meter, *press)
    told.append(pocket.words(meter))
""")
    assert [lines[-1] for lines in shown[:3]] == ["keys: down", "keys: down up", "keys: down up do"]
    assert shown[3][0] == "Settings"


def test_a_stuck_key_is_told_and_no_other(trial: Trial) -> None:
    before, stuck, others, freed = trial("""
told = [look()]
part.held = ["up"]
told.append(after(250))
pocket.tap(meter, "down")
told.append(after(250))
part.held = []
told.append(after(250))
""")
    assert before == SOUND
    assert stuck == [*SOUND[:4], "held down: up"] == others
    assert freed[4] == "keys: down"


def test_a_missing_microphone_is_told_and_one_that_comes_back(trial: Trial) -> None:
    deaf, again, louder = trial("""
class Microphone:
    missing = "the microphone sends nothing"
    behind = False
    rate_ppb = 0

meter.microphone = Microphone
pocket.tap(meter, "do")  # puts aside what is said of it everywhere
told = [look()]
Microphone.missing = ""
told.append(after(250))
meter.ear.level = -4000
told.append(after(250))
""")
    assert deaf == [*SOUND[:2], "microphone does not work", *SOUND[3:]]
    assert again == SOUND
    assert louder[2] == "microphone -40 dB", "the room as it is now"


def test_a_missing_display_is_told(trial: Trial) -> None:
    """To whoever sees the desk's screen, or a display that came back meanwhile."""
    shown = trial("""
class Screen:
    missing = "no display answers"
    show = part.show

meter.screen = Screen
told = look()
""")
    assert shown == [SOUND[0], "display does not work", *SOUND[2:]]


@pytest.mark.parametrize(
    "fault",
    [
        'os.mkdir(values["root"] + "/trial.new")',  # a file that cannot be written
        "read = meter.files.read; meter.files.read = lambda name: read(name)[:-1] + bytes(1)",  # not what was written
    ],
)
def test_faulty_memory_is_told_and_ends_nothing(trial: Trial, fault: str) -> None:
    shown, running, left = trial(f"""
{fault}
told = [look(), part.running]
pocket.hold(meter, "do")
told.append(pocket.words(meter)[0])
""")
    assert shown == [*SOUND[:3], "memory does not work", SOUND[4]]
    assert running and left == "What to do?"
