"""Tuning orders: what reference, drop, tonic, stretch and offsets make of a reed's target, and refusals."""

import json
import random

import pytest
from reedbench.errors import BadInput
from reedbench.instrument import Instrument
from reedbench.tuning import PairLaw, TuningOrder, cents_between, note_hz, raised
from shop import instrument


def off(made, label):
    """Cents of a reed's target from the equal-tempered note at the order's reference."""
    reed = next(reed for reed in made.reeds if reed.label == label)
    return cents_between(reed.target_hz, note_hz(reed.midi, made.order.reference_hz))


def ordered(layout="solo-12", folder=None, **order):
    """An instrument as it is read from a file."""
    values = instrument(layout).to_dict()
    values["order"] = {"reference_hz": 440, "tolerance_cents": 2} | order
    return Instrument.from_dict(values, "mine.json", folder)


def test_reference_from_the_ensemble_and_drop_in_play():
    # The drop, 1 to 2 cents, is common practice without a source: it is the owner's to say.
    plain, raised_by_drop = ordered(reference_hz=442.0), ordered(reference_hz=442.0, drop_cents=1.5)
    for before, after in zip(plain.reeds, raised_by_drop.reeds, strict=True):
        assert before.target_hz == pytest.approx(note_hz(before.midi, 442.0))
        assert cents_between(after.target_hz, before.target_hz) == pytest.approx(1.5)
        assert raised(after.target_hz, -1.5) == pytest.approx(before.target_hz)  # what sounds in play


def test_the_tonic_is_the_key_unless_it_is_said():
    by_key = instrument("richter-10", key="D", temperament="just")
    assert off(by_key, "2 blow") == pytest.approx(-13.686, abs=5e-4)  # 5/4 over D
    elsewhere = instrument("richter-10", key="D", temperament="just", tonic="G")
    assert off(elsewhere, "4 blow") == pytest.approx(1.955, abs=5e-4)  # 3/2 over G
    assert off(elsewhere, "5 draw") == 0


def test_stretch_is_about_a4():
    made = ordered("solo-16", stretch_cents_per_octave=1.5)
    for reed in made.reeds:
        assert off(made, reed.label) == pytest.approx(1.5 * (reed.midi - 69) / 12)


INLINE = {"F#4": -2, "E": 1.25, "5 draw, slide out": 3, "Bb": 0.5}


def test_offsets_of_a_note_of_all_its_octaves_and_of_one_reed_add_up():
    made = ordered(offsets=INLINE)
    expected = {
        "2 draw, slide in": -2,  # F#4
        "6 draw, slide in": 0,  # F#5
        "2 blow, slide out": 1.25,  # E4
        "10 blow, slide out": 1.25,  # E6
        "5 draw, slide out": 3,  # D5
        "3 draw, slide in": 0.5,  # A#4
    }
    for label, cents in expected.items():
        assert off(made, label) == pytest.approx(cents)
    more = ordered(offsets={"A4": 2, "A": 1, "3 draw, slide out": 4})
    assert off(more, "3 draw, slide out") == pytest.approx(7) and off(more, "7 draw, slide out") == pytest.approx(1)


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("mine.json", json.dumps(INLINE)),
        ("mine.csv", 'at,cents\nF#4,-2\nE,1.25\n\n"5 draw, slide out",3\n Bb , 0.5\n'),
        ("mine.csv", '\ufeffat,cents\r\nF#4,-2\r\nE,1.25\r\n"5 draw, slide out",3\r\nBb,.5\r\n'),
    ],
)
def test_offsets_from_a_file_beside_the_instrument(tmp_path, name, content):
    (tmp_path / name).write_text(content, encoding="utf-8", newline="")
    (tmp_path / "tenor.json").write_text(
        json.dumps(ordered().to_dict() | {"order": {"reference_hz": 440, "tolerance_cents": 2, "offsets": name}})
    )
    made = Instrument.read(tmp_path / "tenor.json")
    assert made == ordered(offsets=INLINE)
    assert made.to_dict()["order"]["offsets"] == INLINE  # the ledger needs no other file


def test_an_offset_of_one_member_of_a_pair_leaves_the_other():
    made = ordered("accordion-26", offsets={"A4 push, M+": 2.0})
    plain = ordered("accordion-26")
    moved = [a.label for a, b in zip(made.reeds, plain.reeds, strict=True) if a.target_hz != b.target_hz]
    assert moved == ["A4 push, M+"]


@pytest.mark.parametrize(
    ("order", "words"),
    [
        ({"offsets": {"F#4": 101}}, 'the offset of "F#4" is 101; it must be a number of cents from -100 to 100'),
        ({"offsets": {"F#4": "flat"}}, 'the offset of "F#4" is "flat"'),
        ({"offsets": {"F#4": True}}, 'the offset of "F#4" is true'),
        ({"offsets": {"F#9": 1}}, 'offsets: "F#9" is neither a note nor a reed of this instrument; write C4 or 1 blow'),
        ({"offsets": {"13 blow": 1}}, '"13 blow" is neither a note nor a reed'),
        ({"offsets": {"\x1b[2J": 1}}, "is neither a note nor a reed"),
        ({"offsets": []}, "offsets are an object of at most 1000 notes or reeds"),
        ({"offsets": {str(n): 0 for n in range(1001)}}, "offsets are an object of at most 1000"),
        ({"offsets": "../mine.json"}, "the name of a file that lies beside this one"),
        ({"offsets": "mine.txt"}, "ends in .json or .csv"),
        ({"offsets": "missing.csv"}, "missing.csv: cannot be read"),
        ({"tonic": "H"}, 'tonic is "H"; it must be a note without its octave'),
        ({"tonic": "C4"}, 'tonic is "C4"'),
        ({"tonic": 1}, "tonic is 1"),
        ({"temperament": "7-limit"}, "7-limit says nothing of C#4, which 1 blow, slide in sounds"),
        ({"temperament": "wolf"}, 'temperament is "wolf"; it must be one of "equal", "meantone"'),
        ({"stretch_cents_per_octave": 11}, "stretch_cents_per_octave is 11; it must be a number from -10 to 10"),
        ({"pairs": 2}, "order.pairs must be an object"),
    ],
)
def test_orders_that_are_none(order, words, tmp_path):
    with pytest.raises(BadInput) as refusal:
        ordered(folder=tmp_path, **order)
    text = str(refusal.value)
    assert words in text and text.isprintable() and len(text) < 300


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the first line must name the columns: at,cents"),
        (b"note,cents\nE,1\n", "the first line must name the columns: at,cents"),
        (b"at,cents\nE,1\nE,2\n", "line 3 must hold one note or reed that has no line yet"),
        (b"at,cents\nE,1,2\n", "line 2 must hold one note or reed"),
        (b"at,cents\nE,much\n", 'the offset of "E" is "much"'),
        (b"at,cents\nE,nan\n", 'the offset of "E" is "nan"'),
        (b"at,cents\nE,1e999\n", 'the offset of "E" is "1e999"'),
        (b"at,cents\nE,\n", 'the offset of "E" is ""'),
        (b'at,cents\n"E,1\n', "not a CSV file in UTF-8"),
        (b"at,cents\nE\xff,1\n", "not a CSV file in UTF-8"),
        (b"at,cents\n" + b"x" * 200_000 + b",1\n", "not a CSV file in UTF-8"),
        (b" " * 300_000, "longer than 256 KiB"),
    ],
)
def test_offset_tables_that_are_none(content, words, tmp_path):
    (tmp_path / "mine.csv").write_bytes(content)
    with pytest.raises(BadInput) as refusal:
        ordered(folder=tmp_path, offsets="mine.csv")
    assert words in str(refusal.value) and str(refusal.value).startswith(str(tmp_path / "mine.csv"))


def test_orders_at_random_are_read_as_they_are_written():
    """And every part of an order moves a target by just what it says."""
    dice = random.Random(8)
    made = instrument()
    for _ in range(200):
        order = TuningOrder(
            reference_hz=round(dice.uniform(392, 470), 2),
            temperament=dice.choice(("equal", "meantone", "pythagorean", "just")),
            drop_cents=round(dice.uniform(0, 10), 2),
            tolerance_cents=round(dice.uniform(0.2, 20), 2),
            tonic=dice.choice(("", "C", "Eb", "F#")),
            stretch_cents_per_octave=round(dice.uniform(-10, 10), 2),
            offsets=tuple({dice.choice(("A4", "C", "F#", "D5")): round(dice.uniform(-100, 100), 2)}.items()),
            pairs=dice.choice((None, PairLaw("constant beat", 2.5), PairLaw("between", 2.0, 0.3))),
        )
        again = Instrument.from_dict(made.to_dict() | {"order": order.to_dict()})
        assert again.order == order
        for reed in again.reeds:
            cents = order.note_offset_cents(reed.midi, 0)
            assert cents_between(reed.target_hz, note_hz(reed.midi, order.reference_hz)) == pytest.approx(
                cents + order.drop_cents
            )
