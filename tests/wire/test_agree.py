"""Which takes agree: worked examples, and properties that hold for any takes whatever."""

from collections.abc import Callable
from typing import Any

import pytest

Case = Callable[..., Any]
Takes = list[list[float] | None]


@pytest.mark.parametrize(
    ("a", "b", "scatter", "cents"),
    [
        # By hand: 2.8 times the root of the squares of a, b and twice that of the scatter, from 0.5 to 5 cents.
        (0.0, 0.0, 0.38, 1.50472),  # 2.8 * 0.38 * 1.41421
        (0.0, 0.0, 0.05, 0.5),
        (0.0, 0.0, 0.2, 0.79196),
        (0.48, 0.36, 0.0, 1.68),  # 2.8 * 0.6
        (0.5, 0.5, 0.5, 2.8),  # 2.8 * 1.0
        (0.0, 0.0, 2.0, 5.0),
        (65.535, 65.535, 65.535, 5.0),
    ],
)
def test_the_limit(case: Case, a: float, b: float, scatter: float, cents: float) -> None:
    assert case("agree_cases.limit", a, b, scatter) == pytest.approx(cents, abs=1e-5)
    assert case("agree_cases.limit", b, a, scatter) == pytest.approx(cents, abs=1e-5)


def test_what_a_survey_learns_about_its_player(case: Case) -> None:
    """By hand: four reeds' worth of 0.38 cent, and half the square of each difference, at most 2.8^2 variances."""
    assert case("agree_cases.learned", []) == [0.38]
    assert case("agree_cases.learned", [at(1.0, None), at(None, None, 2.0)]) == [0.38] * 3
    assert case("agree_cases.learned", [at(-3.0, -3.2), at(None, 5.0, 5.0)]) == pytest.approx([0.38, 0.346, 0.316])
    assert case("agree_cases.learned", [at(0.0, 20.0, 0.0)]) == pytest.approx([0.38, 0.585])


def at(*cents: float | None, se: float = 0.1) -> Takes:
    return [None if one is None else [one, se] for one in cents]


@pytest.mark.parametrize(
    ("takes", "group", "verdict"),
    [
        (at(), [], "again"),
        (at(-12.4), [], "again"),
        (at(-12.4, -12.1), [0, 1], "done"),
        (at(-12.4, -10.9), [0, 1], "done"),  # just within the limit: 2.8 * sqrt(0.02 + 0.2888)
        (at(-12.4, -10.8), [], "again"),
        (at(-12.4, -10.8, -12.5), [0, 2], "done"),  # the second was astray
        (at(-12.4, None, -12.5), [0, 2], "done"),
        (at(None, None), [], "again"),
        (at(None, None, None, None, None), [], "give up"),
        (at(0.0, 2.0, 4.0, 6.0), [], "again"),
        (at(0.0, 2.0, 4.0, 6.0, 8.0), [], "give up"),
        (at(0.0, 2.0, 4.0, 6.0, 6.2), [3, 4], "done"),
        (at(0.0, 2.0, 4.0, 6.0, None), [], "give up"),
        (at(0.0, 5.0, 1.0, 5.2), [1, 3], "done"),  # of two pairs the tighter
        (at(0.0, 5.0, 0.7, 5.2, 1.4), [0, 2, 4], "done"),  # of two groups the larger
        (at(0.0, 1.0, 2.0), [0, 1], "done"),  # three that do not all agree; of level pairs the lower
        (at(0.0, 2.9, se=1.0), [0, 1], "done"),  # uncertain takes may differ by more
        (at(0.0, 5.1, se=5.0), [], "again"),  # but never by more than 5
        (at(0.0, 1.6, 3.2, 4.9, se=1.0), [0, 1, 2], "done"),
        (at(7.0, 7.0), [0, 1], "done"),
    ],
)
def test_worked_examples(case: Case, takes: Takes, group: list[int], verdict: str) -> None:
    assert case("agree_cases.agreeing", takes) == group
    assert case("agree_cases.verdict", takes) == verdict


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_properties_of_the_group(case: Case, seed: int) -> None:
    assert case("agree_cases.properties", seed, 1500) == []


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_the_order_of_takes_does_not_change_the_group(case: Case, seed: int) -> None:
    changed, ties = case("agree_cases.changed_by_order", seed, 3000)
    assert changed == []
    assert ties > 0, "the dice never threw the tie that is excepted"
