"""`reedbench desk --watch`, in a terminal: it draws, takes keys, and gives the terminal back whatever happens."""

import signal
from pathlib import Path

import pytest
from reedbench.desk.scenario import demo_scenario
from reedbench.desk.watch import COLUMNS, LINES, braille
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from terminal import port_of, terminal

pytestmark = pytest.mark.usefixtures("micropython_program")


def test_the_screen_is_drawn_keys_reach_the_meter_and_the_terminal_comes_back(tmp_path: Path) -> None:
    with terminal("--quiet-room", "--screens", str(tmp_path)) as watched:
        idle = watched.shows(tmp_path, 2)
        assert len(idle) == LINES and "q leaves" in watched.said and "\x1b[?1049h" in watched.said
        shown = []
        for number, key in enumerate((b"\x1b[A", b"\r", b"m", b"d"), start=3):
            watched.typed(key)
            shown.append(watched.shows(tmp_path, number))
        chosen, settings, again, back = shown
        assert idle != chosen != settings and (again, back) == (chosen, idle)
        watched.typed(b"q")
        assert watched.end() == (0, "")
        assert watched.said.endswith("\x1b[?25h\x1b[?1049l")


def test_a_survey_is_steered_with_held_keys(tmp_path: Path) -> None:
    """Watched in a terminal, asked about over the link: left out, back, and another state."""
    scenario = demo_scenario(1)
    with terminal("--quiet-room") as watched, Ledger.open(tmp_path / "ledger.db", write=True) as ledger:
        port = port_of(watched)
        with converse(port, ledger.identity) as meter:
            load(meter.link, scenario.instrument, "covers off", 0)

            def done() -> int:
                return int(meter.link.request("status")["done"])

            watched.until(lambda: meter.link.request("status")["doing"] == "survey")
            watched.typed(b"\r\x1b[1;2BD")  # yes, covers off; two reeds left out
            watched.until(lambda: done() == 2)
            watched.typed(b"U")
            watched.until(lambda: done() == 1)
            watched.typed(b"\r\x1b[A")  # in another state nothing is done yet
            watched.until(lambda: done() == 0)
        watched.typed(b"\x03")
        assert watched.end() == (0, "")


@pytest.mark.parametrize("number", [signal.SIGTERM, signal.SIGHUP])
def test_a_signal_gives_the_terminal_back_too(number: signal.Signals) -> None:
    with terminal("--quiet-room") as watched:
        port_of(watched)
        watched.process.send_signal(number)
        assert watched.end() == (128 + number, "")
        assert "\x1b[?1049l" in watched.said


def test_a_window_that_is_too_small_says_so_until_it_is_not() -> None:
    with terminal("--quiet-room", size=(12, 50)) as watched:
        watched.until(lambda: watched.screen() == [] and "66 and 20 are needed" in watched.said)
        watched.resize(24, 80)
        watched.until(lambda: len(watched.screen()) == LINES)
        watched.typed(b"\x04")
        assert watched.end() == (0, "")


def test_a_terminal_without_the_characters_is_refused() -> None:
    with terminal("--quiet-room", PYTHONIOENCODING="ascii") as watched:
        code, err = watched.end()
        assert (code, err.count("\n")) == (2, 1) and "set LANG" in err
        assert "\x1b" not in watched.said


def test_braille_has_every_pixel_once() -> None:
    """Dot numbers of the block's own table (Unicode 15, chapter 21.1): 1 2 3 7 down the left column, 4 5 6 8 right."""
    dots = {(0, 0): 1, (0, 1): 2, (0, 2): 3, (1, 0): 4, (1, 1): 5, (1, 2): 6, (0, 3): 7, (1, 3): 8}
    for x, y in ((0, 0), (127, 63), (5, 2), (6, 3), (64, 33), (65, 30), (2, 15), (3, 16)):
        pixels = bytearray(1024)
        pixels[(y >> 3) * 128 + x] = 1 << (y & 7)
        lines = braille(bytes(pixels))
        assert {len(line) for line in lines} == {COLUMNS} and len(lines) == LINES
        assert ord(lines[y // 4][x // 2]) == 0x2800 + (1 << dots[x % 2, y % 4] - 1)
        assert sum("".join(lines).count(chr(0x2800 + one)) for one in range(1, 256)) == 1
