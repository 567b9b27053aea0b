"""The page about power adds up: what it calls computed follows from the lines that it is computed from."""

import re

import pytest
from plan import HARDWARE

PAGE = (HARDWARE / "power.md").read_text(encoding="utf-8")
USABLE_MAH = 1800.0


def row(start: str) -> list[list[float]]:
    """The numbers of each cell after the first, in the row of a table that begins with `start`."""
    [line] = [line for line in PAGE.splitlines() if line.startswith(f"| {start}")]
    cells = line.strip("| ").split(" | ")[1:]
    return [[float(number.replace(",", "")) for number in re.findall(r"\d[\d,]*\.?\d*", cell)] for cell in cells]


def test_the_whole_is_the_sum_of_its_parts() -> None:
    board_ma, _, _, board_mw, *_ = row("board, processor always busy")[0]
    assert board_mw == pytest.approx(5.0 * board_ma)
    efficiency = row("regulator")[0][0] / 100
    display_ma, display_v, display_mw = row("display, a fifth of its dots")[0]
    microphone_ma, _, _, microphone_mw = row("microphone INMP441")[0]
    assert display_mw == pytest.approx(display_v * display_ma / efficiency, abs=1)
    assert microphone_mw == pytest.approx(display_v * microphone_ma / efficiency, abs=1)
    whole_mw = row("**the whole, from VSYS**")[0][0]
    assert whole_mw == pytest.approx(board_mw + display_mw + microphone_mw, abs=3)
    whole_ma, diode_v = row("**the whole, from the cell at 3.7 V**")[0][0], row("diode")[0][0]
    assert whole_ma == pytest.approx(whole_mw / (3.7 - diode_v), abs=1)


def test_hours_follow_from_current_and_cell() -> None:
    assert f"The cell gives {USABLE_MAH:,.0f} of its 2,000 mAh" in PAGE
    (usual, least, most), (hours, shortest, longest) = row("survey or waiting")[:2]
    assert usual == row("**the whole, from the cell at 3.7 V**")[0][0]
    for ma, told in ((usual, hours), (most, shortest), (least, longest)):
        assert told == pytest.approx(USABLE_MAH / ma, abs=1)
    [dark_ma], [dark_hours] = row("the same, display dark")[:2]
    assert dark_hours == pytest.approx(USABLE_MAH / dark_ma, abs=1)
    (asleep_ma, *_), (asleep_hours, days) = row("asleep")[:2]
    assert asleep_hours == pytest.approx(USABLE_MAH / asleep_ma, rel=0.01) and days == round(asleep_hours / 24)


def test_asleep_follows_from_what_is_on() -> None:
    """The slow clock but for the looks between, and the microphone's standby through the regulator."""
    told = " ".join(PAGE.split())
    figures = r"(\d+) mW .* board ([\d.]+) mA from 5 V .* (\d+) mA for ([\d.]+) % .* microphone ([\d.]+) mA"
    found = re.search(r"\*Asleep\* it is " + figures, told)
    assert found
    whole_mw, slow_ma, busy_ma, share, microphone_ma = (float(number) for number in found.groups())
    assert busy_ma == row("board, processor always busy")[0][0]
    efficiency = row("regulator")[0][0] / 100
    board_ma = slow_ma + share / 100 * (busy_ma - slow_ma)
    assert whole_mw == pytest.approx(5.0 * board_ma + 3.3 * microphone_ma / efficiency, abs=1)
    diode_v = row("diode")[0][0]
    assert row("asleep")[0][0] == pytest.approx(whole_mw / (3.7 - diode_v), abs=0.2)
