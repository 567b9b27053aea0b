"""How layouts are described: voices, banks, plates, keyboards, and refusals of malformed ones."""

import json

import pytest
from reedbench import layouts
from reedbench.errors import BadInput
from reedbench.layouts.schema import layout_from_dict


def test_reeds_are_numbered_hole_by_hole():
    reeds = layouts.load("solo-16").reeds
    assert [reed.ordinal for reed in reeds] == list(range(64))
    third = [(reed.place, reed.hole, reed.breath, reed.slide) for reed in reeds[8:12]]
    assert third == [("3", 3, breath, slide) for slide in ("out", "in") for breath in ("blow", "draw")]


def test_names_and_ids_agree():
    assert [name for name in layouts.names() if name.startswith("solo")] == [
        "solo-8",
        "solo-10",
        "solo-12",
        "solo-14",
        "solo-16",
    ]
    assert all(layouts.load(name).id == name for name in layouts.names())


@pytest.mark.parametrize("name", ["solo-13", "", "../solo-12", "solo-12.json", "x" * 500, "\x1b[2J"])
def test_unknown_layout(name):
    with pytest.raises(BadInput, match=r"there is no layout .*`reedbench layout list` has those there are") as refusal:
        layouts.load(name)
    assert "\n" not in str(refusal.value) and "\x1b" not in str(refusal.value)


def test_one_reed_per_place_fits_too():
    """A tremolo's columns sound on one breath each: null where there is no reed."""
    layout = layout_from_dict(small(reeds=[["1", 55, None], ["2", None, 62]]), "small.json")
    assert [(reed.place, reed.breath, reed.midi) for reed in layout.reeds] == [
        ("1", "blow", 55),
        ("2", "draw", 62),
    ]


def small(**changes):
    values = {
        "reedbench": "layout",
        "version": 1,
        "id": "small",
        "title": "Two holes",
        "source": "made up",
        "unconfirmed": True,
        "voices": ["blow", "draw"],
        "plates": [{"name": "upper", "breath": "blow"}, {"name": "lower", "breath": "draw"}],
        "reeds": [["1", 60, 62], ["2", 64, 67]],
    }
    return {name: value for name, value in {**values, **changes}.items() if value is not ...}


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"reedbench": "instrument"}, 'reedbench is "instrument"; it must be "layout"'),
        ({"version": 2}, "version is 2; it must be 1"),
        ({"id": ...}, "id is missing"),
        ({"unconfirmed": 0}, "unconfirmed is 0; it must be true or false"),
        ({"voices": ["blow", "blow"]}, "voices is a list"),
        ({"voices": ["blow", "draw in"]}, "voices is a list"),
        ({"voices": ["whistle"]}, "voices is a list"),
        ({"reeds": []}, "reeds is a list; it must be a list of 1 to 480 rows"),
        ({"reeds": [["1", 60]]}, "row 1 of reeds must be a list of the place and 2 notes"),
        ({"reeds": [["1", 60, 62], ["1", 64, 65]]}, 'row 2 of reeds is "1" again'),
        ({"reeds": [["1", 60, 1e9]]}, "row 1 of reeds: 1000000000.0 must be a MIDI note number"),
        ({"reeds": [["1", 60, True]]}, "row 1 of reeds: true must be a MIDI note number"),
        ({"reeds": [["1", None, None]]}, "row 1 of reeds has no reed"),
        ({"reeds": [["a very long place", 60, 62]]}, "at most 8 bytes"),
        ({"reeds": ..., "keys": [60]}, "keys is a list; it must be a list of the lowest and the highest key"),
        ({"reeds": ..., "keys": [72, 60]}, "keys is a list"),
        ({"reeds": ..., "keys": [60, 999]}, "keys is a list"),
        ({"keys": [60, 72]}, "reeds is a list; it must be a list of rows, unless there is a keyboard in keys"),
        ({"reeds": ...}, "reeds is missing; it must be a list of rows"),
        ({"plates": ...}, "plates is missing; it must be a list of plates"),
        ({"plates": []}, "plates is a list"),
        ({"plates": [{"name": "upper", "breath": "blow"}]}, "the reed 1 draw sits on none of the plates"),
        ({"plates": [{"name": "x"}, {"name": "x"}]}, 'plate 2: name is "x"; it must be a name that no other plate has'),
        ({"plates": [{"name": "x", "breath": "in"}]}, 'plate 1: breath is "in"; it must be one of "blow"'),
        ({"plates": [{"name": "x", "bank": "M"}]}, "plate 1: bank is"),
        ({"plates": [{"name": "x", "places": ["1", "9"]}]}, "a list of the first and the last place on this plate"),
        ({"plates": [{"name": "x", "places": ["2", "1"]}]}, "a list of the first and the last place on this plate"),
        ({"plates": [{"name": "x"}, {"name": "y"}]}, 'no reed sits on plate "y"'),
        ({"plates": [{"name": "x", "colour": 1}]}, "is not a field here"),
        ({"voices": ["blow out", "draw out"]}, "plates is a list; it must be left out where there is a slide"),
        ({"banks": {}}, "banks is an object; it must be a list of banks"),
        ({"banks": [{"name": "M"}, {"name": "M"}]}, "bank 2: name"),
        ({"banks": [{"name": "M", "semitones": 40}]}, "it must be a whole number from -36 to 36"),
        (
            {"banks": [{"name": "M", "tuned": "above"}]},
            'bank 1: tuned is "above"; it must be "on", unless a bank before',
        ),
        ({"banks": [{"name": "M"}, {"name": "M+", "tuned": "above"}]}, "pairs is missing; it must be there"),
        ({"banks": [{"name": "L", "semitones": -36}], "reeds": [["1", 40, 62]]}, "bank L would sound MIDI note 4 at 1"),
        ({"pairs": {"law": "constant cents", "cents": 99}}, "pairs.cents is 99; it must be a number from 0 to 50"),
        ({"pairs": {"law": "by ear"}}, 'pairs.law is "by ear"; it must be one of "constant beat"'),
        ({"plate_word": "reed block"}, "plate_word is"),
        ({"wind": "steam"}, 'wind is "steam"; it must be one of "mouth", "bellows"'),
        ({"transposing": "no"}, "it must be true or false"),
        ({"per_row": 0}, "per_row is 0; it must be a whole number from 1 to 24"),
        ({"reeds": [[str(n), 60, 62] for n in range(241)]}, "482 reeds, but a meter takes 480"),
        ({"last_hole": {"C": 1}}, "last_hole is an object"),
        ({"last_hole": {"C": 60}}, "last_hole is an object"),
        ({"coulour": "red"}, '"coulour" is not a field here'),
    ],
)
def test_malformed_layouts(changes, words):
    with pytest.raises(BadInput) as refusal:
        layout_from_dict(small(**changes), "small.json")
    assert str(refusal.value).startswith("small.json: ") and words in str(refusal.value)
    assert "\n" not in str(refusal.value)


def test_banks_repeat_the_table_and_pair_off():
    layout = layout_from_dict(
        small(
            banks=[
                {"name": "L", "semitones": -12},
                {"name": "M"},
                {"name": "M-", "tuned": "below"},
                {"name": "M+", "tuned": "above"},
            ],
            plates=[{"name": "low", "bank": "L"}, {"name": "rest"}],
            pairs={"law": "constant beat", "beats_hz": 3},
        ),
        "small.json",
    )
    first = [(reed.midi, reed.breath, reed.member, reed.base, reed.side, reed.plate) for reed in layout.reeds[:8]]
    assert first == [
        (48, "blow", "L", None, 0, "low"),
        (50, "draw", "L", None, 0, "low"),
        (60, "blow", "M", None, 0, "rest"),
        (62, "draw", "M", None, 0, "rest"),
        (60, "blow", "M-", 2, -1, "rest"),
        (62, "draw", "M-", 3, -1, "rest"),
        (60, "blow", "M+", 2, 1, "rest"),
        (62, "draw", "M+", 3, 1, "rest"),
    ]
    assert layout.plates == ("low", "rest") and not layout.has_comb and layout.has_pairs


def test_a_keyboard_is_named_by_its_ends():
    keyboard = small(voices=[""], keys=[59, 61], reeds=..., plates=[{"name": "reed"}], wind="bellows")
    layout = layout_from_dict(keyboard, "small.json")
    assert [(reed.place, reed.midi, reed.breath, reed.plate) for reed in layout.reeds] == [
        ("B3", 59, "", "reed"),
        ("C4", 60, "", "reed"),
        ("C#4", 61, "", "reed"),
    ]
    assert layout.per_row == 0 and layout.plate_name("reed") == "reed plate"


def test_a_stretch_of_places_on_each_plate():
    ends = [{"name": "left", "places": ["1", "1"]}, {"name": "right", "places": ["2", "2"]}]
    layout = layout_from_dict(small(plates=ends, plate_word="pan"), "small.json")
    assert [reed.plate for reed in layout.reeds] == ["left", "left", "right", "right"]
    assert layout.plate_name("left") == "left pan"


def test_what_moves_the_air_follows_from_the_breath_unless_it_is_said():
    push = small(voices=["push", "pull"], plates=[{"name": "x"}])
    assert layout_from_dict(small(), "small.json").wind == "mouth"
    assert layout_from_dict(push, "small.json").wind == "bellows"
    assert layout_from_dict(push | {"wind": "mouth"}, "small.json").wind == "mouth"


def test_ones_own_layout_has_an_id_of_its_own(tmp_path):
    (tmp_path / "mine.json").write_text(json.dumps(small()))
    assert layouts.read(tmp_path / "mine.json").id == "small"
    (tmp_path / "taken.json").write_text(json.dumps(small(id="solo-12")))
    with pytest.raises(BadInput, match='a layout called "solo-12" comes with the program'):
        layouts.read(tmp_path / "taken.json")


def test_layout_that_is_no_object():
    with pytest.raises(BadInput, match="the document must be an object"):
        layout_from_dict(json.loads("[1]"), "small.json")
