"""Words of the MIDI Tuning Standard: its own examples, and those it prints wrongly."""

import random

import pytest
from reedbench.tuning import note_hz, raised
from reedbench.tuning.mts import hz_of, word_of

# MIDI 1.0 Detailed Specification, MIDI Tuning Standard; where it prints another figure, that stands last. Exact
# arithmetic, and a MIDI forum's list of given against actual values.
EXAMPLES = [
    ("00 00 00", 8.1758, None),
    ("00 00 01", 8.1758, 8.2104),
    ("3C 00 00", 261.6256, None),
    ("3D 00 00", 277.1826, 277.1827),
    ("44 7F 7F", 439.9984, None),
    ("45 00 00", 440.0000, None),
    ("45 00 01", 440.0016, None),
    ("78 00 00", 8372.0181, 8372.0190),
    ("78 00 01", 8372.0476, None),
    ("7F 00 00", 12543.8540, 12543.8800),
    ("7F 00 01", 12543.8982, None),
    ("7F 7F 7E", 13289.6566, 13289.7300),
]


@pytest.mark.parametrize(("word", "hz", "misprint"), EXAMPLES)
def test_examples(word, hz, misprint):
    assert round(hz_of(bytes.fromhex(word)), 4) == hz
    assert misprint is None or round(hz_of(bytes.fromhex(word)), 4) != misprint


def test_seven_cents_above_c5():
    # 0.07 x 16384 = 1146.88, so 1147 = 8 x 128 + 123.
    assert word_of(raised(note_hz(72, 440.0), 7)).hex(" ").upper() == "48 08 7B"


def test_every_word_is_the_nearest_to_what_it_says():
    dice = random.Random(7)
    for _ in range(2000):
        word = bytes(dice.randrange(128) for _ in range(3))
        if word == b"\x7f\x7f\x7f":
            continue
        hz = hz_of(word)
        assert word_of(hz) == word
        # A step is 100 / 16384 cent.
        assert word_of(raised(hz, dice.uniform(-0.0030, 0.0030))) == word


@pytest.mark.parametrize("word", [b"\x7f\x7f\x7f", b"\x80\0\0", b"\0\0", b"\0\0\0\0"])
def test_what_says_no_pitch(word):
    with pytest.raises(ValueError, match="says no pitch"):
        hz_of(word)


@pytest.mark.parametrize("hz", [0, -1, 8.17, 13290.0, 1e9])
def test_what_no_word_says(hz):
    with pytest.raises(ValueError, match="no word of the MIDI Tuning Standard"):
        word_of(hz)
