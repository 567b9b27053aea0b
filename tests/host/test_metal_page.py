"""The tables of docs/metal.md are those of the program."""

from pathlib import Path

import pytest
from reedbench import beam, metal
from test_beam import PROFILES, profiled

PAGE = (Path(__file__).parents[2] / "docs" / "metal.md").read_text(encoding="utf-8")
ROWS = {
    cells[0]: [float(cell.replace("\u2212", "-")) for cell in cells[1:]]
    for line in PAGE.splitlines()
    if line.startswith("|") and len(cells := [cell.strip() for cell in line.strip("|").split("|")]) > 3
    if not set("".join(cells[1:])) & set("abcdefghijklmnopqrstuvwxyz-")
}


def test_tenths():
    for name, change in (("1 % thinner, cents", beam.thinned), ("1 % narrower, cents", beam.narrowed)):
        assert ROWS[name] == pytest.approx([float(change(n / 10, (n + 1) / 10, 0.01)) for n in range(10)], abs=0.051)


def test_moves():
    moves = ROWS["move, cents"]
    ways = {
        "raise: last fifth thinner by, %": lambda cents: metal.TIP.thinning(cents),
        "lower: first fifth thinner by, %": lambda cents: metal.ROOT.thinning(-cents),
        "lower: weight at the tip, % of the reed": lambda cents: metal.tip_mass(-cents),
    }
    for name, way in ways.items():
        assert ROWS[name] == pytest.approx([100 * way(cents) for cents in moves], abs=0.0051)


@pytest.mark.parametrize("name", PROFILES)
def test_profiles(name):
    turn, *fifths = ROWS[name]
    assert turn == pytest.approx(profiled(PROFILES[name])[0], abs=0.0051)
    assert fifths == pytest.approx(profiled(PROFILES[name])[1:], abs=0.051)
