"""How fast tones beat, against published tables, and how far apart pairs are tuned."""

import math

import pytest
from reedbench.documents import Fields
from reedbench.errors import BadInput
from reedbench.instrument import Instrument
from reedbench.tuning import PairLaw, beat_hz, cents_between, note_hz, raised
from shop import instrument

# Journal of Neuroscience 32(35), 12251-12257 (2012), Table 1, after a tuning text: beats a second of equal-tempered
# intervals at A = 440, lower note from F3 upward by semitones.
BEATS = {
    "major third": "6.9 7.3 7.8 8.2 8.7 9.2 9.8 10.4 11.0 11.7 12.3",
    "fourth": "0.8 0.8 0.9 0.9 1.0 1.1 1.1 1.2 1.3 1.3",
    "fifth": "0.6 0.6 0.7 0.7 0.7 0.8 0.8 0.9",
    "major sixth": "7.9 8.4 8.9 9.4 10.0 10.6",
    "minor third": "9.4 10.0 10.6 11.2 11.9 12.6 13.3 14.1",
    "minor sixth": "11.0 11.7 12.3 13.1 13.9 14.7 15.6",
}
RATIO = {
    "major third": ((5, 4), 4), "fourth": ((4, 3), 5), "fifth": ((3, 2), 7), "major sixth": ((5, 3), 9),
    "minor third": ((6, 5), 3), "minor sixth": ((8, 5), 8),
}  # fmt: skip


def interval(low, name, reference_hz=440.0):
    ratio, semitones = RATIO[name]
    return beat_hz(note_hz(low, reference_hz), note_hz(low + semitones, reference_hz), ratio)


@pytest.mark.parametrize("name", BEATS)
def test_published_beat_table(name):
    for above, beats in enumerate(BEATS[name].split()):
        assert interval(53 + above, name) == pytest.approx(float(beats), abs=0.0501)


def test_beats_that_a_calculator_gets_wrong():
    # Exact arithmetic and the table above; a web calculator gives 6.50, 7.81 and 10.73.
    for low, name, right, wrong in (
        (53, "major third", 6.929, 6.50),
        (60, "minor third", 14.118, 7.81),
        (60, "major sixth", 11.872, 10.73),
    ):
        assert interval(low, name) == pytest.approx(right, abs=5e-4)
        assert interval(low, name) != pytest.approx(wrong, abs=0.3)


def test_beats_in_an_early_textbook():
    # J. Cree Fischer, Piano Tuning (1907), C = 256, so A = 430.539: thirds upon C, E and G#. It prints 10,
    # 13 1/10 and 16; the second is 12.80 by exact arithmetic.
    a = 256 * 2 ** (9 / 12)
    assert a == pytest.approx(430.539, abs=5e-4)
    thirds = [interval(low, "major third", a) for low in (60, 64, 68)]
    assert thirds == pytest.approx([10.16, 12.80, 16.13], abs=5e-3)
    assert thirds[1] != pytest.approx(13.1, abs=0.2)


def test_unisons_and_octaves():
    assert beat_hz(440.0, 442.0) == 2 and beat_hz(443.0, 440.0) == 3
    assert beat_hz(220.0, 441.0, (2, 1)) == 1
    # University piano workshop: fourth D4-A3 one beat, F3-A3 7, C3-E3 5, D3-F#3 6, C4-E4 about 10.
    for low, name, beats in ((57, "fourth", 1), (53, "major third", 7), (48, "major third", 5), (50, "major third", 6)):
        assert round(interval(low, name)) == beats
    assert round(interval(60, "major third")) == 10


# Exact arithmetic: what 2 beats a second are in cents, and 15 cents in beats, at A = 440.
@pytest.mark.parametrize(
    ("midi", "cents"), [(48, 26.27), (57, 15.67), (60, 13.18), (69, 7.85), (72, 6.60), (81, 3.93), (84, 3.31)]
)
def test_constant_beat(midi, cents):
    law = PairLaw("constant beat", 2.0)
    hz = note_hz(midi, 440.0)
    assert cents_between(law.partner_hz(hz, 1, 440.0), hz) == pytest.approx(cents, abs=5e-3)


@pytest.mark.parametrize(("midi", "beats"), [(57, 1.91), (60, 2.28), (69, 3.83), (72, 4.55), (81, 7.66), (84, 9.11)])
def test_constant_cents(midi, beats):
    law = PairLaw("constant cents", 15.0)
    hz = note_hz(midi, 440.0)
    assert beat_hz(hz, law.partner_hz(hz, 1, 440.0)) == pytest.approx(beats, abs=5e-3)


def test_between_goes_from_one_to_the_other():
    steps = [PairLaw("between", 2.0, rise) for rise in (0.0, 0.25, 0.5, 1.0)]
    beats = [[law.partner_hz(hz, 1, 440.0) - hz for hz in (220.0, 440.0, 880.0)] for law in steps]
    for rise, (below, at, above) in zip((0.0, 0.25, 0.5, 1.0), beats, strict=True):
        assert at == pytest.approx(2.0)
        assert (at / below, above / at) == pytest.approx((2**rise, 2**rise))
    constant = PairLaw("constant beat", 2.0)
    assert steps[0].partner_hz(300.0, 1, 440.0) == constant.partner_hz(300.0, 1, 440.0)
    cents = cents_between(442.0, 440.0)
    for hz in (100.0, 1000.0):
        assert cents_between(steps[3].partner_hz(hz, 1, 440.0), hz) == pytest.approx(cents)


def test_above_and_below():
    for law in (PairLaw("constant beat", 3.0), PairLaw("between", 3.0, 0.5)):
        assert 500.0 - law.partner_hz(500.0, -1, 440.0) == pytest.approx(law.partner_hz(500.0, 1, 440.0) - 500.0)
    down = PairLaw("constant cents", 12.0).partner_hz(500.0, -1, 440.0)
    assert cents_between(down, 500.0) == pytest.approx(-12.0)


def test_the_orders_law_goes_before_the_layouts_and_drop_moves_both():
    def pair(**order):
        made = instrument("tremolo-24", **order)
        a4 = [reed for reed in made.reeds if reed.midi == 69]
        assert [reed.member for reed in a4] == ["base", "high"]
        return made, a4

    # A maker's public guide: 440 against 442; the layout has it as a default.
    made, (base, high) = pair()
    assert (base.target_hz, high.target_hz) == (440.0, 442.0) and made.target_beat_hz(high) == 2.0
    assert made.target_beat_hz(base) is None
    made, (base, high) = pair(pairs=PairLaw("constant beat", 3.0), drop_cents=2.0)
    assert base.target_hz == pytest.approx(raised(440.0, 2.0)) and high.target_hz == pytest.approx(raised(443.0, 2.0))
    # mean 441, spread 7.851 cents: exact arithmetic
    assert cents_between(442.0, 440.0) == pytest.approx(7.851, abs=5e-4)
    assert cents_between(441.0, 440.0) == pytest.approx(3.930, abs=5e-4)


def test_every_pair_of_an_accordion_beats_faster_towards_the_treble():
    made = instrument("accordion-41")
    beats = [made.target_beat_hz(reed) for reed in made.reeds if reed.base is not None and reed.breath == "push"]
    assert len(beats) == 41 and beats == sorted(beats)
    assert beats[-1] / beats[0] == pytest.approx(2 ** (0.5 * 40 / 12))


def test_laws_are_written_as_they_are_read():
    for law in (PairLaw("constant beat", 2.0), PairLaw("constant cents", 15.0), PairLaw("between", 2.0, 0.4)):
        assert PairLaw.read(Fields(law.to_dict(), "x")) == law and law.words.startswith("pairs ")
    made = instrument("tremolo-21", pairs=PairLaw("constant cents", 9.0))
    assert Instrument.from_dict(made.to_dict()) == made


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"law": "constant cents"}, "cents is missing"),
        ({"law": "constant cents", "cents": 60}, "cents is 60; it must be a number from 0 to 50"),
        ({"law": "constant beat", "beats_hz": -1}, "beats_hz is -1; it must be a number from 0 to 20"),
        ({"law": "between", "beats_hz": 2}, "rise is missing; it must be a number from 0 to 1"),
        ({"law": "constant beat", "beats_hz": 2, "rise": 1}, "is not a field here"),
    ],
)
def test_laws_that_are_none(values, words):
    with pytest.raises(BadInput) as refusal:
        PairLaw.read(Fields(values, "x"))
    assert words in str(refusal.value)


def test_unison_of_no_beats_is_a_pair_in_tune():
    assert PairLaw("constant beat", 0.0).partner_hz(440.0, 1, 440.0) == 440.0
    assert not math.isnan(PairLaw("between", 0.0, 1.0).partner_hz(16.0, -1, 440.0))
