"""The figures about beats in docs/pairs.md, and published ones."""

import math

import pytest
from reedbench.tuning.pairs import beat_hz

C3, A3, C4, A4, C5, A5, C6 = (440 * 2 ** (n / 12) for n in (-21, -12, -9, 0, 3, 12, 15))


@pytest.mark.parametrize(
    ("hz", "cents"), [(C3, 26.27), (A3, 15.67), (C4, 13.18), (A4, 7.85), (C5, 6.61), (A5, 3.93), (C6, 3.31)]
)
def test_two_beats_a_second_in_cents(hz, cents):
    assert 1200 * math.log2((hz + 2) / hz) == pytest.approx(cents, abs=0.006)


@pytest.mark.parametrize(("hz", "rate"), [(A3, 1.91), (C4, 2.28), (A4, 3.83), (C5, 4.55), (A5, 7.66), (C6, 9.11)])
def test_fifteen_cents_in_beats(hz, rate):
    assert beat_hz(hz, hz * 2 ** (15 / 1200)) == pytest.approx(rate, abs=0.006)


def test_published_beats():
    """440 with 442 beats twice a second (a tremolo maker's public guide); A3 220 with A4 441 once (common practice)."""
    assert beat_hz(440, 442) == 2 and beat_hz(220, 441, (2, 1)) == 1
