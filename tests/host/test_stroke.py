"""Cents per stroke, learned in shops whose hand is known; and what is said while little is."""

from dataclasses import replace

import numpy as np
import pytest
from reedbench.hand.stroke import Counted, Hand, Place, Stroke
from stroking_shop import StrokingShop

TIP = Place("raise", 5, "upper outer", "a", 3, 1)


def learned(rng):
    """A shop after one to eight passes on one to four instruments, and what was learned from them."""
    shop = StrokingShop(rng)
    counted = []
    for work_pass in range(1, rng.integers(2, 10)):
        instrument = f"{rng.integers(0, 4)}"
        counted += shop.worked(shop.reeds(instrument, work_pass, int(rng.integers(4, 20))))
    return shop, Hand(counted), counted


def covered(shops, seed):
    """(share of intervals that hold the truth, their middle factor): of new reeds, seen reeds and classes."""
    hits, factors = {"new": [], "seen": [], "class": []}, {"new": [], "seen": [], "class": []}
    for number in range(shops):
        shop, hand, counted = learned(np.random.default_rng((seed, number)))
        last = 1000
        new = shop.reeds("new one", last, 20)
        seen = [replace(one.place, work_pass=last) for one in counted[-20:]]
        for what, places in (("new", new), ("seen", seen)):
            for place, stroke in zip(places, hand.strokes([replace(one, work_pass=0) for one in places]), strict=True):
                hits[what].append(abs(np.log(shop.cents(place) / stroke.cents)) <= np.log(stroke.factor))
                factors[what].append(stroke.factor)
        for place, stroke in zip(hand.classes(), hand.strokes(hand.classes()), strict=True):
            hits["class"].append(abs(np.log(shop.class_cents(place) / stroke.cents)) <= np.log(stroke.factor))
            factors["class"].append(stroke.factor)
    return {what: (np.mean(hits[what]), np.median(factors[what])) for what in hits}


@pytest.mark.parametrize(
    ("shops", "low", "high"),
    [(60, 0.90, 0.99), pytest.param(1000, 0.93, 0.97, marks=pytest.mark.exhaustive)],
)
def test_intervals_cover_the_truth(shops, low, high):
    """Whatever the hand: of reeds of a new instrument, of reeds worked before, and of the classes."""
    for what, (share, factor) in covered(shops, seed=shops).items():
        print(f"{what}: {100 * share:.1f} % of intervals hold the truth, within a factor {factor:.2f}")
        assert low <= share <= high, what
        assert factor < {"new": 2.6, "seen": 1.7, "class": 1.6}[what]


def test_nothing_is_told_before_anything_is_known():
    hand = Hand()
    assert hand.known([TIP]) == [None] and hand.classes() == []
    first, root = hand.strokes([TIP, replace(TIP, action="lower")])
    assert first.factor > 7 and first.counts == 0
    assert root.cents / first.cents == pytest.approx(3.01, abs=0.01)  # what the beam says


def counts(strokes, moved, places, u_cents=0.3):
    return [Counted(place, strokes, moved, u_cents) for place in places]


def test_a_hand_is_learned_from_a_few_reeds_and_told_only_then():
    places = [replace(TIP, ordinal=n) for n in range(12)]
    one, many = Hand(counts(5, 6.0, places[:1])), Hand(counts(5, 6.0, places))
    other = replace(TIP, ordinal=40, work_pass=0)
    assert one.known([other]) == [None]
    (stroke,) = many.known([other])
    assert stroke is not None and stroke.counts == 12
    assert stroke.cents == pytest.approx(1.2, rel=0.1)
    assert many.strokes([other])[0].factor < one.strokes([other])[0].factor


def test_what_is_known_of_one_way_says_something_of_the_other_and_less():
    hand = Hand(counts(5, 6.0, [replace(TIP, ordinal=n) for n in range(20)]))
    raised, lowered = hand.strokes([replace(TIP, ordinal=40), replace(TIP, ordinal=40, action="lower")])
    assert 2 * raised.cents < lowered.cents < 4 * raised.cents and lowered.factor > raised.factor


def test_a_reed_keeps_what_it_showed_over_what_its_class_does():
    counted = []
    for work_pass in (1, 2, 3):
        counted += counts(5, 5.0, [replace(TIP, ordinal=n, work_pass=work_pass) for n in range(7)])
        counted += counts(10, 4.0, [replace(TIP, ordinal=30, work_pass=work_pass)])
    hard, other = Hand(counted).strokes([replace(TIP, ordinal=n, work_pass=0) for n in (30, 31)])
    assert hard.cents < 0.6 and other.cents > 0.8


def test_registers_are_told_apart():
    low = counts(10, 4.0, [replace(TIP, ordinal=n, octave=4) for n in range(10)])
    high = counts(3, 4.0, [replace(TIP, ordinal=50 + n, octave=7) for n in range(10)])
    found = Hand(low + high).strokes([Place("raise", 4, TIP.seat), Place("raise", 7, TIP.seat)])
    assert found[1].cents / found[0].cents > 2


def test_the_order_of_reeds_and_a_move_the_wrong_way_do_no_harm():
    rng = np.random.default_rng(5)
    shop = StrokingShop(rng)
    counted = shop.worked(shop.reeds("a", 1, 30))
    forth, back = Hand(counted).strokes([TIP])[0], Hand(counted[::-1]).strokes([TIP])[0]
    assert forth.cents == pytest.approx(back.cents, rel=1e-6)
    worse = Hand([*counted, Counted(TIP, 4, -2.0, 0.3)]).strokes([replace(TIP, ordinal=9)])[0]
    assert 0.6 * forth.cents < worse.cents < 1.4 * forth.cents and np.isfinite(worse.factor)


@pytest.mark.parametrize(
    ("cents", "factor", "move", "about", "fewest", "most"),
    [(1.0, 1.0, 6.0, 6, 5, 8), (0.5, 1.5, -3.0, 6, 4, 10), (2.0, 1.2, 0.0, 0, 0, 0), (4.0, 1.2, 2.0, 0, 0, 1)],
)
def test_strokes_for_a_move(cents, factor, move, about, fewest, most):
    """Six strokes of 1 cent, each differing by 30 %: 6 / 1.27 to 6 x 1.27."""
    found = Stroke(cents, factor).for_move(move)
    assert (found.about, found.fewest, found.most) == (about, fewest, most)
