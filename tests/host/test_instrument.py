"""Instruments: plates, faces, keys, targets, and refusals of malformed files."""

import json

import pytest
from reedbench.errors import BadInput
from reedbench.instrument import Instrument, new_key_id
from shop import instrument


def reed(instrument, hole, breath, slide):
    return next(reed for reed in instrument.reeds if (reed.hole, reed.breath, reed.slide) == (hole, breath, slide))


def test_straight_slide():
    # Encyclopedia "Slider design": slide out sounds the upper plate in every hole, slide in the lower.
    straight = instrument(slide="straight")
    assert {(reed.slide, reed.plate) for reed in straight.reeds} == {("out", "upper"), ("in", "lower")}


def test_cross_slide():
    # Same source, given as an example: hole 1 upper, hole 2 lower, hole 3 upper ..., the other when pressed.
    cross = instrument()
    out = [reed(cross, hole, "blow", "out").plate for hole in range(1, 13)]
    assert out == ["upper", "lower"] * 6
    assert [reed(cross, hole, "blow", "in").plate for hole in range(1, 13)] == ["lower", "upper"] * 6
    second = reed(cross, 2, "blow", "out")
    assert (second.note, second.plate) == ("E4", "lower")


def test_first_plate_is_a_setting():
    upper, lower = instrument(), instrument(first_plate="lower")
    assert all(a.plate != b.plate for a, b in zip(upper.reeds, lower.reeds, strict=True))


def test_faces():
    # Euphonics, section 11.6: blow reeds on the inner surface, draw reeds on the outer.
    assert {(reed.breath, reed.face) for reed in instrument().reeds} == {("blow", "inner"), ("draw", "outer")}


@pytest.mark.parametrize("slide", ["cross", "straight"])
def test_sounding_order_walks_plate_by_plate(slide):
    sixteen = instrument("solo-16", slide=slide, first_plate="lower")
    order = sixteen.sounding_order()
    assert sorted(order) == list(range(64))
    walk = [sixteen.reeds[ordinal] for ordinal in order]
    assert [reed.plate for reed in walk] == ["upper"] * 32 + ["lower"] * 32
    assert [reed.hole for reed in walk[:32]] == [hole for hole in range(1, 17) for _ in range(2)]
    assert [reed.breath for reed in walk] == ["blow", "draw"] * 32


def test_keys_transpose():
    c = instrument()
    for key, semitones in (("G", -5), ("Bb", -2), ("F#", 6), ("low C", -12), ("high G", 7)):
        other = instrument(key=key)
        assert {b.midi - a.midi for a, b in zip(c.reeds, other.reeds, strict=True)} == {semitones}


def test_last_hole():
    twelve = instrument()
    assert reed(twelve, 12, "draw", "in").midi == 98  # "common, though by no means present in all" (encyclopedia)
    other = Instrument.from_dict({**twelve.to_dict(), "last_hole": "C"})
    assert reed(other, 12, "draw", "in").midi == 96


def test_targets():
    assert reed(instrument(), 3, "draw", "out").target_hz == 440.0
    raised = reed(instrument(reference_hz=442.0, drop_cents=2.0), 3, "draw", "out")
    assert raised.target_hz == pytest.approx(442.0 * 2 ** (2 / 1200))


def test_round_trip(tmp_path):
    made = instrument("solo-16", "Zoë's «tenor» 🎵", "Eb", reference_hz=441.5, drop_cents=1.5)
    path = tmp_path / "mine.json"
    path.write_text(json.dumps(made.to_dict()), encoding="utf-8")
    assert Instrument.read(path) == made
    assert len(new_key_id()) == 16 and new_key_id() != new_key_id()


def changed(path, value):
    values = instrument().to_dict()
    inner = values
    *outer, last = path.split(".")
    for name in outer:
        inner = inner[name]
    if value is ...:
        del inner[last]
    else:
        inner[last] = value
    return values


@pytest.mark.parametrize(
    ("path", "value", "words"),
    [
        ("reedbench", "layout", 'it must be "instrument"'),
        ("version", True, "version is true; it must be 1"),
        ("key_id", "XYZ", "16 characters of 0 to 9 and a to f"),
        ("key_id", "0" * 15 + "\u0663", "16 characters"),
        ("name", "", "a text of 1 to 80 characters"),
        ("name", "x" * 81, "a text of 1 to 80 characters"),
        ("name", "a\nb", "without control characters"),
        ("name", "\ud800", "without control characters"),
        ("layout", "solo-13", 'one of "solo-8"'),
        ("layout", ["solo-12"], "layout is a list"),
        ("key", "H", "a key such as"),
        ("key", {}, "key is an object"),
        ("slide", "none", 'one of "cross", "straight"'),
        ("first_plate", ..., "first_plate is missing"),
        ("last_hole", "E", 'one of "D", "C"'),
        ("order", None, "order must be an object"),
        ("order.reference_hz", 4400, "order.reference_hz is 4400; it must be a number from 392 to 470"),
        ("order.reference_hz", "440", 'is "440"; it must be a number'),
        ("order.reference_hz", True, "is true; it must be a number"),
        ("order.reference_hz", 10**400, "it must be a number from 392 to 470"),
        ("order.tolerance_cents", 0, "it must be a number from 0.2 to 20"),
        ("order.drop_cents", -1, "it must be a number from 0 to 10"),
        ("order.temperament", "wolf", 'one of "equal"'),
        ("order.refrence", 1, "is not a field here"),
        ("colour\x1b[31m", 1, "is not a field here"),
    ],
)
def test_malformed_instruments(path, value, words):
    with pytest.raises(BadInput) as refusal:
        Instrument.from_dict(changed(path, value), "mine.json")
    text = str(refusal.value)
    assert text.startswith("mine.json: ") and words in text
    assert text.isprintable() and len(text) < 300


def test_ten_holes_leave_no_choice_in_the_last():
    with pytest.raises(BadInput, match="last_hole"):
        Instrument.from_dict({**instrument("solo-10").to_dict(), "last_hole": "D"})


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "not JSON"),
        (b"{", "not JSON"),
        (b"\xff\xfe", "not UTF-8"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": 1, "a": 2}', "stands there twice"),
        (b'{"a": ' + b"9" * 5000 + b"}", "not usable JSON"),
        (b" " * 300_000, "longer than 256 KiB"),
        (b"[]", "must be an object"),
    ],
)
def test_files_that_are_none(tmp_path, content, words):
    path = tmp_path / "mine.json"
    path.write_bytes(content)
    with pytest.raises(BadInput, match=words) as refusal:
        Instrument.read(path)
    assert str(refusal.value).startswith(str(path)) and "\n" not in str(refusal.value)


@pytest.mark.parametrize("name", ["missing.json", "", "a\0b"])
def test_files_that_cannot_be_read(tmp_path, name):
    with pytest.raises(BadInput, match="cannot be read"):
        Instrument.read(f"{tmp_path}/{name}")
