"""Where metal comes off, and how much of it for a move."""

import pytest
from reedbench import beam, metal


@pytest.mark.parametrize(
    ("zone", "cents", "fraction"),
    [
        (metal.TIP, 5.193, 0.01),
        (metal.TIP, 26.271, 0.05),
        (metal.TIP, 110.053, 0.2),
        (metal.ROOT, -15.755, 0.01),
        (metal.ROOT, -174.569, 0.1),
        (metal.ROOT, -392.639, 0.2),
    ],
)
def test_thinning(zone, cents, fraction):
    # Stepped beam, exact arithmetic worked out apart from this program.
    assert zone.thinning(cents) == pytest.approx(fraction, rel=1e-3)
    assert zone.gain(fraction) == pytest.approx(cents, abs=2e-3)


@pytest.mark.parametrize("cents", [0.3, 1, 7, 30, 100, 200])
@pytest.mark.parametrize("zone", [metal.TIP, metal.ROOT])
def test_thinning_and_gain_agree(zone, cents):
    move = cents if zone is metal.TIP else -cents
    assert zone.gain(zone.thinning(move)) == pytest.approx(move, abs=0.02)


def test_no_zone_moves_the_other_way_or_beyond_reason():
    assert metal.TIP.thinning(-5) == metal.ROOT.thinning(5) == 0
    assert metal.TIP.thinning(1000) == metal.ROOT.thinning(-5000) == metal.MOST


@pytest.mark.parametrize(("mass", "cents"), [(0.0001, -0.346), (0.01, -33.990), (0.1, -293.435), (1.0, -1409.876)])
def test_mass_for_a_move(mass, cents):
    # Exact frequency equation of a cantilever with a tip mass; 0.0005 cents is the table's last digit.
    assert metal.tip_mass(cents) == pytest.approx(mass, rel=2e-3)
    assert beam.loaded(metal.tip_mass(cents)) == pytest.approx(cents, abs=2e-3)


def test_no_mass_raises():
    assert metal.tip_mass(5) == metal.tip_mass(0) == pytest.approx(0, abs=1e-9)


def test_metal_comes_off_the_tip_to_raise_and_the_rivet_end_to_lower():
    # Common practice; a 19th-century acoustics textbook has the same (file the free end to sharpen).
    assert metal.zone_for(+3) is metal.TIP
    assert metal.zone_for(-3) is metal.ROOT
    assert metal.TIP.thinning(5) > 0 < metal.ROOT.thinning(-5)
