"""The beam against published eigenvalues, exact equations and the first-order theory of small changes."""

import math

import numpy as np
import pytest
from reedbench import beam

FINE = np.linspace(0, 1, 41)


def test_eigenvalues():
    # W. T. Thomson, Theory of Vibration with Applications, App. D.3.
    squares = beam.modes(FINE)[:3]
    assert [round(float(b), 4) for b in np.sqrt(squares)] == [1.8751, 4.6941, 7.8548]
    assert squares == pytest.approx([3.5160, 22.0345, 61.6972], abs=1e-4)
    assert squares[1:] / squares[0] == pytest.approx([6.2669, 17.5475], abs=1e-4)


def test_a_few_elements_are_enough():
    coarse = beam.modes(np.linspace(0, 1, beam.ELEMENTS + 1))[0]
    assert abs(beam.cents(coarse, 1.87510406871196**2)) < 0.001


def test_a_thicker_reed_is_higher_and_a_wider_one_is_not():
    assert beam.modes(FINE, thickness=1.1)[0] / beam.modes(FINE)[0] == pytest.approx(1.1)
    assert beam.modes(FINE, width=1.1)[0] == pytest.approx(beam.modes(FINE)[0])


@pytest.mark.parametrize(
    ("start", "end", "cents"),
    [
        (0.9, 1.0, [3.012, 6.035, 15.163, 30.585, 62.241]),
        (0.8, 1.0, [5.193, 10.416, 26.271, 53.338, 110.053]),
        (0.0, 0.1, [-9.160, -18.599, -48.691, -105.374, -248.654]),
        (0.0, 0.2, [-15.755, -31.867, -82.419, -174.569, -392.639]),
    ],
)
def test_zones(start, end, cents):
    # Exact arithmetic, worked out apart from this program: 1, 2, 5, 10 and 20 % thinner.
    assert beam.thinned(start, end, [0.01, 0.02, 0.05, 0.1, 0.2]) == pytest.approx(cents, abs=2e-3)
    assert beam.thinned(start, end, 0.05) == pytest.approx(cents[2], abs=2e-3)


@pytest.mark.parametrize(
    ("mass", "cents"),
    [
        (0.0001, -0.346),
        (0.001, -3.456),
        (0.005, -17.152),
        (0.01, -33.990),
        (0.02, -66.765),
        (0.05, -158.563),
        (0.1, -293.435),
        (0.2, -514.048),
        (0.5, -962.678),
        (1.0, -1409.876),
    ],
)
def test_mass_at_the_tip(mass, cents):
    # Exact frequency equation of a cantilever with a tip mass.
    assert beam.loaded(mass) == pytest.approx(cents, abs=1.5e-3)


def test_mass_at_the_tip_as_published():
    # Mathematical Problems in Engineering 2017, 1568019, Table 1, last column: a tip as heavy as the beam.
    published = [1.557298, 16.25009, 50.89584, 105.1983]
    assert beam.modes(FINE, tip_mass=1.0)[:4] == pytest.approx(published, rel=5e-6)
    # Applied Sciences 9 (2019) 2996, Tables 1-2: 14.56 to 14.58 Hz with a fifth of its mass, 19.63 to 19.64 Hz bare.
    assert beam.modes(FINE, tip_mass=0.2)[0] / beam.modes(FINE)[0] == pytest.approx(0.742, abs=0.0015)


def sensitivity(x, half=0.005, fraction=1e-3, change=beam.thinned):
    """Relative change of pitch per fraction taken off at x and per length there, of a small change."""
    up, down = (change(x - half, x + half, sign * fraction) for sign in (1, -1))
    return float(up - down) / (2 * fraction * 2 * half * beam.CENTS_PER_LOG)


def first_order(x, stiffness):
    """The same by Rayleigh's quotient, from the closed form of a uniform reed's first mode."""
    b = 1.87510406871196
    sigma = (math.cosh(b) + math.cos(b)) / (math.sinh(b) + math.sin(b))
    motion = math.cosh(b * x) - math.cos(b * x) - sigma * (math.sinh(b * x) - math.sin(b * x))
    bending = math.cosh(b * x) + math.cos(b * x) - sigma * (math.sinh(b * x) + math.sin(b * x))
    return (motion**2 - stiffness * bending**2) / 2


def test_the_very_root_works_three_times_as_hard_as_the_very_tip_and_the_other_way():
    assert first_order(0, stiffness=3) == pytest.approx(-6) and first_order(1, stiffness=3) == pytest.approx(2)
    assert first_order(0, stiffness=1) == pytest.approx(-2) and first_order(1, stiffness=1) == pytest.approx(2)


@pytest.mark.parametrize(
    ("x", "value"),
    [(0.05, -5.2025), (0.2, -3.1497), (0.5, -0.4611), (0.57938, 0.0), (0.6, 0.1082), (0.8, 1.0282), (0.95, 1.7341)],
)
def test_small_changes_along_the_reed(x, value):
    # First-order Rayleigh quotient of a uniform cantilever; exact arithmetic.
    assert first_order(x, stiffness=3) == pytest.approx(value, abs=5e-5)
    assert sensitivity(x) == pytest.approx(value, abs=5e-4)
    assert sensitivity(x, change=beam.narrowed) == pytest.approx(first_order(x, stiffness=1), abs=5e-4)


def test_small_changes_all_along_it():
    """1 % off the whole thickness lowers by 1 %; narrowing does nothing, and turns its sign at half the length."""
    assert beam.thinned(0, 1, 0.01) == pytest.approx(1200 * math.log2(0.99), abs=1e-6)
    assert beam.narrowed(0, 1, 0.01) == pytest.approx(0, abs=1e-6)
    assert sensitivity(0.499, change=beam.narrowed) < 0 < sensitivity(0.501, change=beam.narrowed)


def profiled(thickness):
    """(where the sign turns, cents for 1 % off the last fifth, for 1 % off the first) of a profiled reed."""
    middles = (FINE[1:] + FINE[:-1]) / 2
    reed = thickness(middles)
    each = reed * (1 - 0.001 * np.eye(len(reed)))
    moves = beam.cents(beam.modes(FINE, each)[:, 0], beam.modes(FINE, reed)[0])
    fifths = [beam.modes(FINE, reed * (1 - 0.01 * where))[0] for where in (middles > 0.8, middles < 0.2)]
    tip, root = beam.cents(fifths, beam.modes(FINE, reed)[0])
    return float(np.interp(0, moves, middles)), float(tip), float(root)


PROFILES = {
    "even": lambda x: 1 + 0 * x,
    "half as thick at the tip as at the rivet": lambda x: 1 - x / 2,
    "thinner at the rivet by three tenths": lambda x: 0.7 + 0.3 * x,
    "thinner in the belly by three tenths": lambda x: 1 - 0.3 * np.exp(-(((x - 0.5) / 0.2) ** 2)),
    "last quarter twice as thick": lambda x: np.where(x > 0.75, 2.0, 1.0),
}


@pytest.mark.parametrize("name", PROFILES)
def test_what_holds_for_profiled_reeds(name):
    """The middle is no place for metal to come off, whatever the profile; and a stroke goes as far within a third."""
    turn, tip, root = profiled(PROFILES[name])
    assert 0.5 < turn < 0.65
    assert tip == pytest.approx(5.2, rel=1 / 3) and root == pytest.approx(-15.8, rel=1 / 3)
