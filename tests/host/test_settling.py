"""What worked reeds do by themselves, from what they read afterwards."""

import pytest
from reedbench.settling import MOST_CENTS, Settling, settling


def test_nothing_seen_is_nothing_expected():
    assert settling({}, {}) == settling({3: -1.0}, {4: 0.0}) == Settling(0.0, 0)


def test_the_middle_of_what_was_seen():
    stops = dict.fromkeys(range(30), -0.8)
    now = dict.fromkeys(range(30), -0.2) | {0: 25.0}
    found = settling(stops, now)
    assert found.cents == pytest.approx(0.6 * 30 / 33) and found.reeds == 30


def test_few_reeds_are_doubted():
    assert settling({0: 1.0}, {0: 2.0}).cents == pytest.approx(0.25)
    assert settling({0: 1.0, 1: 0.5, 2: 0.0}, {0: 2.0, 1: 1.5, 2: 1.0}).cents == pytest.approx(0.5)


def test_a_plan_counts_on_so_much_and_no_more():
    assert settling(dict.fromkeys(range(40), 0.0), dict.fromkeys(range(40), -9.0)).counted_on == -MOST_CENTS
