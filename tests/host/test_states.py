"""Offsets between two states: what is learned, what is drawn towards the rest, and whether it is honest."""

from dataclasses import replace

import numpy as np
import pytest
from offset_shop import OffsetShop
from reedbench.reading import readings
from reedbench.states import offsets
from reedbench.tuning import cents_between
from shop import instrument, takes

U95 = 0.4


def two_surveys(kind, offset, both):
    """(bench, assembled) of an instrument whose reeds read `offset[n]` higher assembled, those of `both`."""
    bench = readings(kind, takes(kind, {}))
    assembled = {}
    for n, reading in bench.items():
        bench[n] = replace(reading, cents=0.0, u95_cents=U95)
        if n in both:
            assembled[n] = replace(reading, cents=offset[n], u95_cents=U95)
    return bench, assembled


def test_a_reed_read_in_both_states_keeps_what_it_showed():
    kind = instrument()
    shown = {n: 3.0 + n % 3 - 1 for n in range(48)} | {7: 7.0}
    found = offsets(kind, *two_surveys(kind, shown, range(48)))
    assert all(found[n].cents == pytest.approx(shown[n], abs=0.35) for n in range(48))
    assert found[7].u95_cents == pytest.approx(2**0.5 * U95, rel=0.1) and found[7].learned == "reed"


def test_the_target_as_it_must_read_on_the_bench():
    kind = instrument()
    found = offsets(kind, *two_surveys(kind, dict.fromkeys(range(48), -2.5), range(48)))[20]
    reed = kind.reeds[20]
    assert cents_between(found.bench_hz(reed), reed.target_hz) == pytest.approx(2.5, abs=0.02)
    assert found.bench_cents(1.0) == pytest.approx(3.5, abs=0.02)


def test_a_reed_not_read_takes_what_its_plate_has():
    kind = instrument()
    shown = {reed.ordinal: 4.0 if reed.plate == "upper" else -1.0 for reed in kind.reeds}
    found = offsets(kind, *two_surveys(kind, shown, range(0, 48, 3)))
    for reed in kind.reeds:
        assert found[reed.ordinal].cents == pytest.approx(shown[reed.ordinal], abs=0.6)
        assert found[reed.ordinal].learned == ("class" if reed.ordinal % 3 else "reed")


def test_a_reed_not_read_takes_what_its_register_has():
    kind = instrument("solo-16")
    shown = {reed.ordinal: 5.0 - (reed.midi - 48) // 12 * 1.5 for reed in kind.reeds}
    found = offsets(kind, *two_surveys(kind, shown, range(0, 64, 3)))
    assert all(found[n].cents == pytest.approx(shown[n], abs=0.8) for n in range(63))


def test_less_known_is_less_certain():
    kind = instrument()
    shown = dict.fromkeys(range(48), 2.0)
    widths = [offsets(kind, *two_surveys(kind, shown, range(n)))[47].u95_cents for n in (0, 1, 4, 16, 48)]
    assert widths == sorted(widths, reverse=True) and widths[0] > 6 and widths[-1] < 0.6
    nothing = offsets(kind, *two_surveys(kind, shown, ()))[47]
    assert (nothing.cents, nothing.learned) == (0.0, "")


def test_a_reed_without_a_figure_counts_as_not_read():
    kind = instrument()
    bench, assembled = two_surveys(kind, dict.fromkeys(range(48), 2.0), range(48))
    assembled[9] = replace(assembled[9], cents=None, u95_cents=None)
    found = offsets(kind, bench, assembled)[9]
    assert found.learned == "class" and found.cents == pytest.approx(2.0, abs=0.2)


@pytest.mark.parametrize(
    ("shops", "low", "high"),
    [(60, 0.9, 0.99), pytest.param(1000, 0.93, 0.97, marks=pytest.mark.exhaustive)],
)
def test_what_is_learned_of_offsets_covers_the_truth(shops, low, high):
    """Instruments with known offsets, of which some reeds are read in both states: those reeds, and the others."""
    kind = instrument("richter-10")
    hits, widths = {"reed": [], "class": []}, {"reed": [], "class": []}
    for number in range(shops):
        rng = np.random.default_rng((shops, number))
        shop = OffsetShop(kind, rng)
        both = rng.choice(20, int(rng.integers(2, 20)), replace=False)
        for n, one in offsets(kind, *shop.read(both)).items():
            assert one.learned == ("reed" if n in both else "class")
            hits[one.learned].append(abs(one.cents - shop.offsets[n]) <= one.u95_cents)
            widths[one.learned].append(one.u95_cents)
    for learned, seen in hits.items():
        print(f"{learned}: {100 * np.mean(seen):.1f} % of {len(seen)}, within {np.median(widths[learned]):.2f} cents")
        assert len(seen) > 8 * shops and low <= np.mean(seen) <= high
    assert np.median(widths["reed"]) < 1 and np.median(widths["class"]) < 4
