"""The beam model against published eigenvalues and tables."""

import math

import pytest
from reedbench import metal


def test_eigenvalues():
    # W. T. Thomson, Theory of Vibration with Applications, App. D.3: 1.8751, 4.6941, 7.8548.
    assert [round(metal.eigenvalue(mode), 4) for mode in (1, 2, 3)] == [1.8751, 4.6941, 7.8548]
    squares = [metal.eigenvalue(mode) ** 2 for mode in (1, 2, 3)]
    assert squares == pytest.approx([3.5160, 22.0345, 61.6972], abs=1e-4)
    assert squares[1] / squares[0] == pytest.approx(6.2669, abs=1e-4)


def test_mode_has_mean_square_one():
    steps = 2000
    for shape in (metal.motion, metal.bending):
        mean = sum(shape((step + 0.5) / steps) ** 2 for step in range(steps)) / steps
        assert mean == pytest.approx(1.0, abs=1e-5)


def test_root_works_three_times_as_hard_as_the_tip_and_the_other_way():
    assert metal.sensitivity(0.0) == pytest.approx(-6.0, abs=1e-9)  # exact arithmetic
    assert metal.sensitivity(1.0) == pytest.approx(2.0, abs=1e-9)


@pytest.mark.parametrize(
    ("x", "value"),
    [(0.05, -5.2025), (0.2, -3.1497), (0.5, -0.4611), (0.6, 0.1082), (0.8, 1.0282), (0.95, 1.7341)],
)
def test_sensitivity_along_the_reed(x, value):
    # First-order Rayleigh quotient of a uniform cantilever; exact arithmetic.
    assert metal.sensitivity(x) == pytest.approx(value, abs=5e-5)


def test_sign_turns_past_the_middle():
    assert metal.sensitivity(0.5793) < 0 < metal.sensitivity(0.5795)


@pytest.mark.parametrize(
    ("start", "end", "mean", "cents_of_one_percent"),
    [
        (0.9, 1.0, 1.7370, 3.007),
        (0.8, 1.0, 1.4953, 5.178),
        (0.0, 0.1, -5.2120, -9.023),
        (0.0, 0.2, -4.4995, -15.580),
        (0.0, 1.0, -1.0, -17.312),
    ],
)
def test_zones(start, end, mean, cents_of_one_percent):
    assert metal.zone_sensitivity(start, end) == pytest.approx(mean, abs=5e-5)
    zone = metal.Zone("", "", start, end)
    assert zone.thinning(cents_of_one_percent) == pytest.approx(0.01, rel=2e-4)


def test_thinning_stays_near_the_exact_stepped_beam():
    # Exact stepped beam, 5 % off the last fifth: +26.271 cents; 2 % off the first fifth: -31.867 cents.
    assert metal.TIP.thinning(26.271) == pytest.approx(0.05, rel=0.02)
    assert metal.ROOT.thinning(-31.867) == pytest.approx(0.02, rel=0.03)


@pytest.mark.parametrize(
    ("mass", "cents"),
    [(0.0001, -0.346), (0.001, -3.456), (0.01, -33.990), (0.1, -293.435), (1.0, -1409.876)],
)
def test_mass_at_the_tip(mass, cents):
    # Exact frequency equation of a cantilever with a tip mass.
    assert 1200 * math.log2(metal.tip_mass_ratio(mass)) == pytest.approx(cents, abs=1e-3)


def test_mass_at_the_tip_as_published():
    # Mathematical Problems in Engineering 2017, 1568019, Table 1, last column: b^2 = 1.557298, equal masses.
    assert metal.tip_mass_ratio(1.0) * metal.FIRST**2 == pytest.approx(1.557298, abs=1e-6)
    # Applied Sciences 9 (2019) 2996, Tables 1-2: 0.7413 to 0.7427 for a mass of 0.2.
    assert metal.tip_mass_ratio(0.2) == pytest.approx(0.742, abs=0.002)


def test_metal_comes_off_the_tip_to_raise_and_the_rivet_end_to_lower():
    # Common practice; a 19th-century acoustics textbook has the same (file the free end to sharpen).
    assert metal.zone_for(+3) is metal.TIP
    assert metal.zone_for(-3) is metal.ROOT
    assert metal.TIP.thinning(5) > 0 < metal.ROOT.thinning(-5)
