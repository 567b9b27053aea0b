"""Pitch arithmetic against published values."""

import pytest
from reedbench.tuning import TuningOrder, cents_between, note_hz, note_name, raised


def test_standard_pitch():
    assert note_hz(69, 440.0) == 440.0  # ISO 16:1975, standard tuning frequency


# Equal temperament at A = 440: University of New South Wales, School of Physics,
# "Note names, MIDI numbers and frequencies";
# lowest note from the MIDI Tuning Standard, its misprint corrected.
@pytest.mark.parametrize(
    ("midi", "hz", "digits"),
    [
        (0, 8.1758, 4),
        (12, 16.352, 3),
        (36, 65.406, 3),
        (53, 174.61, 2),
        (60, 261.63, 2),
        (72, 523.25, 2),
        (84, 1046.5, 1),
    ],
)
def test_equal_tempered_table(midi, hz, digits):
    assert round(note_hz(midi, 440.0), digits) == hz


# f = A x 2^((m - 69) / 12), the same source; other references by exact arithmetic.
@pytest.mark.parametrize(
    ("midi", "reference_hz", "hz"),
    [(60, 442.0, 262.8148), (48, 441.0, 131.1101), (98, 443.0, 2365.3362), (105, 440.0, 3520.0)],
)
def test_other_references(midi, reference_hz, hz):
    assert note_hz(midi, reference_hz) == pytest.approx(hz, abs=5e-5)


def test_an_early_textbooks_octave():
    # J. Cree Fischer, Piano Tuning (1907), lessons XII and XIII: C = 256, the octave from 512, tempered and just.
    reference_hz = 256 * 2 ** (9 / 12)
    tempered = (512, 542.44, 574.70, 608.87, 645.08, 683.44, None, 767.13, None, 861.08, None, 966.53, 1024)
    just = {0: 512, 2: 576, 4: 640, 5: 682.66, 7: 768, 9: 853.33, 11: 960, 12: 1024}
    order = TuningOrder(reference_hz, "just")
    for step, hz in enumerate(tempered):
        if hz is not None:
            assert note_hz(72 + step, reference_hz) == pytest.approx(hz, abs=0.0101)
    for step, hz in just.items():
        assert order.target_hz(72 + step) == pytest.approx(hz, abs=0.0101)


def test_cent():
    # Ellis, appendix XX to Helmholtz, On the Sensations of Tone: 1200 to the octave, ratio 1.0005777895.
    assert cents_between(2.0, 1.0) == 1200
    assert raised(1.0, 1.0) == pytest.approx(1.0005777895, abs=5e-11)


# Exact arithmetic on that definition.
@pytest.mark.parametrize(
    ("hz", "from_hz", "cents"),
    [
        (442.0, 440.0, 7.851),
        (440.0, 442.0, -7.851),
        (440.5, 440.0, 1.966),  # the half hertz allowed to standard forks: Gazzetta Ufficiale 12 May 1989
        (439.5, 440.0, -1.968),
        (263.13, note_hz(60, 440.0), 9.93),
        (3.0, 2.0, 701.955),  # list of intervals in 5-limit just intonation (encyclopedia)
        (5.0, 4.0, 386.314),
    ],
)
def test_cents_between(hz, from_hz, cents):
    assert cents_between(hz, from_hz) == pytest.approx(cents, abs=0.005)


def test_raised():
    assert raised(note_hz(72, 440.0), 7) == pytest.approx(525.3711, abs=5e-5)
    assert raised(note_hz(72, 440.0), -7) == pytest.approx(521.1397, abs=5e-5)


def test_note_names():
    # Scientific pitch: middle C is C4, MIDI 60.
    assert [note_name(midi) for midi in (0, 60, 61, 69, 98)] == ["C-1", "C4", "C#4", "A4", "D7"]
