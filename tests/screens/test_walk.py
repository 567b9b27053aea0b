"""Every key on every screen of the whole firmware, on MicroPython: none is a dead end."""

import json
import subprocess
from pathlib import Path

import pytest
from micropython_here import micropython

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
KEYS = 6  # up, down, do: tapped, then held, come first in walk.py; the last of them leads to the menu
MENU = KEYS - 1
STARTS = ("empty", "deaf", "full", "loaded")


@pytest.fixture(scope="module")
def walks(tmp_path_factory):
    if micropython() is None:
        pytest.skip("this system has no MicroPython Unix port")
    folder = tmp_path_factory.mktemp("flashes")
    command = [micropython(), "-X", "heapsize=6m", str(HERE / "walk.py"), str(ROOT), str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=280)
    assert done.returncode == 0, done.stderr or done.stdout[-2000:]
    found = {start: {} for start in STARTS}
    for line in done.stdout.splitlines():
        start, screen, leads = json.loads(line)
        found[start][screen] = leads
    return found


@pytest.mark.parametrize("start", STARTS)
def test_from_everywhere_the_held_key_leads_to_the_menu(walks, start):
    found = walks[start]
    for screen, leads in found.items():
        assert leads[MENU].startswith("menu, list"), f"{screen} -> {leads[MENU]}"


@pytest.mark.parametrize("start", STARTS)
def test_no_screen_is_a_dead_end(walks, start):
    """Some other key does something, too; and where a key leads has been walked on from.

    What needs a microphone shows nothing else until there is one.
    """
    for screen, leads in walks[start].items():
        assert "No microphone" in screen or any(lead != screen for lead in leads[:MENU]), (
            f"{screen}: no key but that for the menu does anything"
        )
        assert set(leads) <= set(walks[start])


def test_the_walk_has_been_everywhere(walks):
    modes = {screen.partition(",")[0] for screen in walks["loaded"]}
    assert modes == {"menu", "surveying", "bench", "check", "hearing", "setup"}
    assert {screen.partition(",")[0] for screen in walks["empty"]} == modes, "all can be entered without an instrument"
    shown = " ".join(walks["loaded"])
    for words in ("Survey finished", "How is it sounded?", "sound it again", "Keys", "begun afresh", "good: leave it"):
        assert words in shown, words
    assert "No microphone" in " ".join(walks["deaf"]) and "Memory full" in " ".join(walks["full"])
