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


@pytest.mark.parametrize("first_plate", ["upper", "lower"])
@pytest.mark.parametrize("slide", ["cross", "straight"])
@pytest.mark.parametrize("layout", ["solo-8", "solo-10", "solo-12", "solo-14", "solo-16"])
def test_plate_by_the_rule(layout, slide, first_plate):
    """Straight: by the state of the slide; cross: by (hole - 1 + state) mod 2; counted from the first plate."""
    made = instrument(layout, slide=slide, first_plate=first_plate)
    for one in made.reeds:
        steps = {"out": 0, "in": 1}[one.slide] + (one.hole - 1 if slide == "cross" else 0)
        assert one.plate == ("upper", "lower")[(steps + (first_plate == "lower")) % 2]


def test_first_plate_is_a_setting():
    upper, lower = instrument(), instrument(first_plate="lower")
    assert all(a.plate != b.plate for a, b in zip(upper.reeds, lower.reeds, strict=True))


def test_faces():
    # Euphonics, section 11.6: blow reeds on the inner surface, draw reeds on the outer.
    assert {(reed.breath, reed.face) for reed in instrument().reeds} == {("blow", "inner"), ("draw", "outer")}


def test_richter_plates():
    # Bahnson, Antaki, Beery, J. Acoust. Soc. Am. 103 (1998), and Euphonics 11.6: blow reeds above, draw reeds below.
    for layout in ("richter-10", "richter-10-natural-minor", "richter-10-harmonic-minor"):
        where = {(one.breath, one.plate, one.face) for one in instrument(layout).reeds}
        assert where == {("blow", "upper", "inner"), ("draw", "lower", "outer")}


# Where air comes from decides the face (Euphonics 11.6); which plates there are, and their order, is ours.
KINDS = {
    "richter-10": (["upper"] * 10 + ["lower"] * 10, {"blow": "inner", "draw": "outer"}),
    "tremolo-21": (["lower"] * 21 + ["upper"] * 21, {"blow": "inner", "draw": "outer"}),
    "melodica-32": (["reed"] * 32, {"": ""}),
    "accordion-41": (["L"] * 82 + ["M"] * 82 + ["M+"] * 82 + ["H"] * 82, {"push": "outer", "pull": "inner"}),
    "anglo-30": (["left"] * 30 + ["right"] * 30, {"push": "outer", "pull": "inner"}),
    "harmonium-39": (["bass"] * 39 + ["male"] * 39 + ["female"] * 39, {"": ""}),
}


@pytest.mark.parametrize("layout", KINDS)
def test_every_kind_is_sounded_plate_by_plate_from_the_low_end(layout):
    plates, faces = KINDS[layout]
    made = instrument(layout)
    order = made.sounding_order()
    walk = [made.reeds[ordinal] for ordinal in order]
    assert sorted(order) == list(range(len(made.reeds))) and [one.plate for one in walk] == plates
    for plate in made.plates:
        there = [(one.hole, one.ordinal) for one in walk if one.plate == plate]
        assert there == sorted(there)
    assert {one.breath: one.face for one in walk} == faces
    assert len({one.label for one in walk}) == len(walk)


def test_labels():
    def labels(layout, *ordinals):
        return [instrument(layout).reeds[ordinal].label for ordinal in ordinals]

    assert labels("solo-12", 0, 11) == ["1 blow, slide out", "3 draw, slide in"]
    assert labels("accordion-41", 0, 5) == ["F3 push, L", "F3 pull, M+"]
    assert labels("melodica-32", 1) == ["F#3"] and labels("harmonium-39", 2) == ["C3, female"]
    assert labels("anglo-30", 1, 11) == ["L1a pull", "L1 pull"] and labels("tremolo-24", 1) == ["1 blow, high"]


def test_what_stands_in_the_table_of_targets():
    made = instrument("tremolo-24", reference_hz=440.0, drop_cents=2.0)
    rows = {row["ordinal"]: row for row in made.targets_table()}
    assert list(rows) == made.sounding_order()
    base, high = (row for row in rows.values() if row["midi"] == 69)
    assert (base["member"], high["member"], high["base"], base["base"]) == ("base", "high", base["ordinal"], None)
    assert base["from_equal_cents"] == pytest.approx(2.0) and high["beat_hz"] == pytest.approx(2.0, rel=0.002)
    # 2 cents above A4: 0.02 x 16384 = 327.68, so 328 = 2 x 128 + 72.
    assert base["mts"] == "45 02 48"


@pytest.mark.parametrize("layout", ["melodica-32", "accordion-26", "harmonium-39"])
def test_keyboards_have_no_key_of_their_own(layout):
    values = instrument(layout).to_dict()
    assert "key" not in values and "last_hole" not in values
    assert Instrument.from_dict(values).key == "C"
    with pytest.raises(BadInput, match='key is "G"; it must be "C" or left out'):
        Instrument.from_dict({**values, "key": "G"})


def test_a_slide_is_said_only_where_there_is_one():
    values = instrument("richter-10").to_dict()
    assert "slide" not in values and Instrument.from_dict(values) == instrument("richter-10")
    for name in ("slide", "first_plate"):
        with pytest.raises(BadInput, match=f"{name} is .* it must be left out: richter-10 has no slide"):
            Instrument.from_dict({**values, name: "cross"})


def test_a_layout_of_ones_own_lies_beside_the_instrument_and_is_kept_with_it(tmp_path):
    mine = dict(instrument("richter-10").layout.document) | {"id": "bench-ten"}
    (tmp_path / "ten.json").write_text(json.dumps(mine))
    values = instrument("richter-10").to_dict() | {"layout": "ten.json"}
    (tmp_path / "mine.json").write_text(json.dumps(values))
    made = Instrument.read(tmp_path / "mine.json")
    assert made.layout.id == "bench-ten" and made.to_dict()["layout"] == mine
    assert Instrument.from_dict(made.to_dict()) == made  # as the ledger gives it back
    for name in ("../ten.json", "/etc/passwd.json", "C:ten.json", "a\\b.json"):
        with pytest.raises(BadInput, match="the name of a file that lies beside this one"):
            Instrument.from_dict(values | {"layout": name}, folder=tmp_path)


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
        ("layout", "solo-13", "one that `reedbench layout list` has"),
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
        (b"", "line 1: there is no value"),
        (b'{"a": 1,\n}', "line 2: here a name in plain quotation marks .* must begin, or the comma before is too many"),
        (b"\xff\xfe", "not UTF-8"),
        (b"[" * 100_000, "nested too deeply"),
        (b'{"a": NaN}', "NaN is not a number"),
        (b'{"a": 1, "a": 2}', "stands there twice"),
        (b'{"a": ' + b"9" * 5000 + b"}", "a number is far too long"),
        (b'{"a": 1\n"b": 2}', "line 2: a comma is missing before this"),
        (b'{"a" 1}', "a colon is missing after the name"),
        ('{"a": \u201ctenor\u201d}'.encode(), "a text without plain quotation marks"),
        (b'{"a": "tenor}', "the quotation mark that ends the text is missing"),
        (b'{"a": "tenor\n"}', "the quotation mark that ends the text is missing in this line"),
        (b'{"a": "C:\\somewhere"}', "before a backslash there must be another one"),
        (b"{}{}", "the file goes on after its end"),
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
