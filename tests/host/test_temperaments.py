"""Temperaments against published intervals and against each other's definitions."""

import random
from fractions import Fraction

import pytest
from reedbench.tuning import TEMPERAMENTS, TuningOrder, cents_between, note_hz
from reedbench.tuning.temperaments import cents_of
from shop import instrument

# Exact arithmetic, 1200 log2 of the ratio. Also read in the encyclopedia's list of intervals in 5-limit just
# intonation, to two decimals: 81/80 128/125 25/24 256/243 135/128 16/15 10/9 9/8; to one: 6/5 5/4 4/3 45/32; to none:
# 8/7 8/5 5/3 7/4.
INTERVALS = {
    "32805/32768": 1.954, "81/80": 21.506, "531441/524288": 23.460, "64/63": 27.264, "128/125": 41.059,
    "648/625": 62.565, "25/24": 70.672, "256/243": 90.225, "135/128": 92.179, "16/15": 111.731, "10/9": 182.404,
    "9/8": 203.910, "8/7": 231.174, "7/6": 266.871, "32/27": 294.135, "19/16": 297.513, "6/5": 315.641, "5/4": 386.314,
    "81/64": 407.820, "21/16": 470.781, "4/3": 498.045, "171/128": 501.423, "27/20": 519.551, "7/5": 582.512,
    "45/32": 590.224, "3/2": 701.955, "8/5": 813.686, "5/3": 884.359, "27/16": 905.865, "7/4": 968.826,
    "16/9": 996.090, "9/5": 1017.596, "15/8": 1088.269, "2/1": 1200.0,
}  # fmt: skip

# Cents above C of C C# D Eb E F F# G G# A Bb B; exact arithmetic, the fifths also read in the encyclopedia
# ("Quarter-comma meantone"). Just intonation has several C#, Ab and Bb: here 16/15, 8/5 and 9/5 are meant.
DEGREES = {
    "equal": (0, 100, 200, 300, 400, 500, 600, 700, 800, 900, 1000, 1100),
    "meantone": (0, 76.049, 193.157, 310.265, 386.314, 503.422, 579.471, 696.578, 772.627, 889.735, 1006.843, 1082.892),
    "pythagorean": (0, 113.685, 203.91, 294.135, 407.82, 498.045, 611.73, 701.955, 815.64, 905.865, 996.09, 1109.775),
    "just": (0, 111.731, 203.910, 315.641, 386.314, 498.045, 590.224, 701.955, 813.686, 884.359, 1017.596, 1088.269),
}  # fmt: skip
WOLVES = {"meantone": 737.637, "pythagorean": 678.495}  # G# to Eb

# Whole cents from equal temperament, blow and draw of holes 1 to 10 in C: two scale listings of one author (7-limit and
# just), trade pages (19-limit); the exact values round to these.
RICHTER = {
    "19-limit": "0 +4  -14 +2  +2 -12  0 +4  -14 +1  +2 +6  0 -12  -14 +4  +2 +1  0 +6",
    "7-limit": "0 +4  -14 +2  +2 -12  0 +4  -14 -29  +2 +6  0 -12  -14 +4  +2 -29  0 +6",
    "just": "0 +4  -14 +2  +2 -12  0 +4  -14 -2  +2 -16  0 -12  -14 +4  +2 -2  0 -16",
}


@pytest.mark.parametrize("ratio", INTERVALS)
def test_just_intervals_and_commas(ratio):
    assert cents_of(Fraction(ratio)) == pytest.approx(INTERVALS[ratio], abs=5e-4)


def test_commas_are_what_is_left_over():
    fifth, third = cents_of(Fraction(3, 2)), cents_of(Fraction(5, 4))
    assert 12 * fifth - 7 * 1200 == pytest.approx(23.460, abs=5e-4)  # Pythagorean
    assert 4 * fifth - 2 * 1200 - third == pytest.approx(21.506, abs=5e-4)  # syntonic
    assert 1200 - 3 * third == pytest.approx(41.059, abs=5e-4)  # lesser diesis


@pytest.mark.parametrize("name", DEGREES)
def test_degrees_of_the_octave(name):
    assert TEMPERAMENTS[name].degrees == pytest.approx(DEGREES[name], abs=5e-4)


@pytest.mark.parametrize("name", WOLVES)
def test_wolf(name):
    order = TuningOrder(temperament=name)
    wolf = cents_between(order.target_hz(75), order.target_hz(68))
    assert wolf == pytest.approx(WOLVES[name], abs=5e-4)
    pure = {"meantone": 696.578, "pythagorean": 701.955}[name]  # the other eleven
    fifths = [cents_between(order.target_hz(60 + n + 7), order.target_hz(60 + n)) for n in range(12)]
    assert sorted(fifths, key=lambda cents: abs(cents - pure))[:11] == pytest.approx([pure] * 11, abs=5e-4)


@pytest.mark.parametrize("key", ["C", "A", "F#", "Bb", "low D"])
@pytest.mark.parametrize("name", RICHTER)
def test_richter_chord_temperaments_hole_by_hole(name, key):
    """In any key the offsets are those in C, from the key note's own equal-tempered pitch at the chosen A."""
    made = instrument("richter-10", key=key, temperament=name, reference_hz=443.0)
    off = [cents_between(reed.target_hz, note_hz(reed.midi, 443.0)) for reed in made.reeds]
    assert [round(cents) for cents in off] == [int(word) for word in RICHTER[name].split()]
    assert made.reeds[0].target_hz == note_hz(made.reeds[0].midi, 443.0)


def test_draw_5_of_a_19_limit_instrument():
    # Exact arithmetic: F5 at A = 443 is 703.2187 Hz, 171/128 lies 1.423 cents above the equal fourth.
    assert instrument("richter-10", temperament="19-limit", reference_hz=443.0).reeds[9].target_hz == pytest.approx(
        703.797, abs=5e-4
    )
    assert instrument("richter-10", key="A").reeds[9].midi == 74


def ratios(reeds):
    return [reed.target_hz / reeds[0].target_hz for reed in reeds]


def hole(made, number, breath):
    return next(reed for reed in made.reeds if (reed.hole, reed.breath) == (number, breath))


@pytest.mark.parametrize("key", ["C", "G", "Eb"])
def test_chords(key):
    seven, nineteen = (instrument("richter-10", key=key, temperament=name) for name in ("7-limit", "19-limit"))
    chord = [hole(seven, number, "draw") for number in (2, 3, 4, 5)]
    assert ratios(chord) == pytest.approx([1, 5 / 4, 6 / 4, 7 / 4])
    chord = [hole(nineteen, number, "draw") for number in (4, 5, 6)]
    assert ratios(chord) == pytest.approx([1, 19 / 16, 24 / 16])
    for name in RICHTER:
        made = instrument("richter-10", key=key, temperament=name)
        assert ratios([hole(made, number, "blow") for number in (4, 5, 6)]) == pytest.approx([1, 5 / 4, 6 / 4])


def test_the_compromise_lies_halfway():
    for half, whole in zip(TEMPERAMENTS["compromise"].degrees, TEMPERAMENTS["19-limit"].degrees, strict=True):
        assert (half is None) == (whole is None)
    made = {name: instrument("richter-10", temperament=name).reeds for name in ("equal", "compromise", "19-limit")}
    for equal, half, whole in zip(*made.values(), strict=True):
        full = cents_between(whole.target_hz, equal.target_hz)
        assert cents_between(half.target_hz, equal.target_hz) == pytest.approx(full / 2)


def test_what_holds_for_every_temperament():
    """Octaves are pure; moving tonic and note together changes nothing; the note that is kept is kept."""
    dice = random.Random(6)
    for name, temperament in TEMPERAMENTS.items():
        for _ in range(200):
            midi, tonic, step = dice.randrange(24, 108), dice.randrange(12), dice.randrange(12)
            cents = temperament.offset_cents(midi, tonic)
            assert temperament.offset_cents(midi + 12, tonic) == cents
            assert temperament.offset_cents(60 + tonic, tonic) == 0 or temperament.kept == "A"
            assert temperament.offset_cents(69, tonic) == 0 or temperament.kept == "tonic"
            if temperament.kept == "tonic":
                assert temperament.offset_cents(midi + step, (tonic + step) % 12) == cents
            assert cents is None or abs(cents) < 50 or name == "meantone"


def test_a_keeps_the_reference_where_the_octave_is_divided_for_all_keys():
    for name in ("equal", "meantone", "pythagorean"):
        for tonic in ("C", "Eb", "F#"):
            assert TuningOrder(441.0, name, tonic=tonic).target_hz(69) == 441.0
