"""What worked reeds do by themselves, from what they read afterwards."""

import pytest
from reedbench.settling import MOST_CENTS, Settled, Settling, settling


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


NIGHT = Settled("raise", "within a day", -0.8, 0.2, 30)
WEEKS = Settled("raise", "within two weeks", -0.4, 0.3, 30)
UNKNOWN = Settled("raise", "within two weeks", -0.4, 0.5, 3)
YEARS = Settled("raise", "later", -2.0, 0.2, 30)


def test_before_any_pass_the_record_is_counted_on_as_far_as_it_knows():
    found = settling({}, {}, [NIGHT, UNKNOWN, YEARS])
    assert found.later == (NIGHT,) and found.counted_on == -0.8
    assert settling({}, {}, [NIGHT, WEEKS]).counted_on == pytest.approx(-1.2)


@pytest.mark.parametrize(
    ("days", "ahead"), [(0.1, (NIGHT, WEEKS)), (0.8, (WEEKS,)), (6.0, (WEEKS,)), (9.0, ()), (None, ())]
)
def test_what_the_reeds_of_the_last_pass_have_done_already_is_not_counted_twice(days, ahead):
    """After a night they read what the night did to them; an hour after the pass it is still to come."""
    assert settling({0: 1.0}, {0: 0.6}, [NIGHT, WEEKS], days).later == ahead


def test_what_is_known_to_move_and_what_is_known_to_be_still():
    assert NIGHT.moves and not NIGHT.still and not UNKNOWN.moves and not UNKNOWN.still
    still = Settled("lower", "within a day", 0.1, 0.2, 50)
    assert still.still and not still.moves
