"""Layouts against the published tables, and refusals of malformed ones."""

import json

import pytest
from reedbench import layouts
from reedbench.errors import BadInput
from reedbench.layouts.schema import layout_from_dict
from reedbench.tuning import note_name

# Rows: blow out, draw out, blow in, draw in. Encyclopedia "Solo tuning" for the pattern of four holes,
# "Chromatic harmonica" for ranges (16 holes begin an octave lower) and for D in the last hole.
TWELVE = """
C4 D4 C#4 D#4 | E4 F4 F4 F#4 | G4 A4 G#4 A#4 | C5 B4 C#5 C5
C5 D5 C#5 D#5 | E5 F5 F5 F#5 | G5 A5 G#5 A#5 | C6 B5 C#6 C6
C6 D6 C#6 D#6 | E6 F6 F6 F#6 | G6 A6 G#6 A#6 | C7 B6 C#7 D7
"""
OCTAVE_BELOW = "C3 D3 C#3 D#3 | E3 F3 F3 F#3 | G3 A3 G#3 A#3 | C4 B3 C#4 C4"


def notes(layout_id):
    return [note_name(reed.midi) for reed in layouts.load(layout_id).reeds]


def table(text):
    return text.replace("|", " ").split()


def test_twelve_and_sixteen_holes():
    assert notes("solo-12") == table(TWELVE)
    assert notes("solo-16") == table(OCTAVE_BELOW + TWELVE)
    assert len({reed.midi for reed in layouts.load("solo-12").reeds}) == 39  # every semitone C4 to D7
    assert len({reed.midi for reed in layouts.load("solo-16").reeds}) == 51


def test_the_others_are_unconfirmed_cuts_of_the_same_pattern():
    # Fourteen holes: range of the violin's lowest G upwards (encyclopedia); the rest from memory.
    assert notes("solo-14") == table(OCTAVE_BELOW)[8:] + table(TWELVE)
    assert notes("solo-10") == table(TWELVE)[:40]
    assert notes("solo-8") == [*table(TWELVE)[:31], "D6"]
    unconfirmed = [name for name in layouts.names() if layouts.load(name).unconfirmed]
    assert unconfirmed == ["solo-8", "solo-10", "solo-14"]


def test_reeds_are_numbered_hole_by_hole():
    reeds = layouts.load("solo-16").reeds
    assert [reed.ordinal for reed in reeds] == list(range(64))
    third = [(reed.place, reed.hole, reed.breath, reed.slide) for reed in reeds[8:12]]
    assert third == [("3", 3, breath, slide) for slide in ("out", "in") for breath in ("blow", "draw")]


def test_names_and_ids_agree():
    assert layouts.names() == ("solo-8", "solo-10", "solo-12", "solo-14", "solo-16")
    assert all(layouts.load(name).id == name for name in layouts.names())


@pytest.mark.parametrize("name", ["solo-13", "", "../solo-12", "solo-12.json", "x" * 500, "\x1b[2J"])
def test_unknown_layout(name):
    with pytest.raises(BadInput, match=r"there is no layout .*known are solo-8") as refusal:
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
        ({"reeds": []}, "reeds is a list; it must be a list of 1 to 240 rows"),
        ({"reeds": [["1", 60]]}, "row 1 of reeds must be a list of the place and 2 notes"),
        ({"reeds": [["1", 60, 62], ["1", 64, 65]]}, 'row 2 of reeds is "1" again'),
        ({"reeds": [["1", 60, 1e9]]}, "row 1 of reeds: 1000000000.0 must be a MIDI note number"),
        ({"reeds": [["1", 60, True]]}, "row 1 of reeds: true must be a MIDI note number"),
        ({"reeds": [["1", None, None]]}, "row 1 of reeds has no reed"),
        ({"reeds": [["a very long place", 60, 62]]}, "at most 8 bytes"),
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


def test_layout_that_is_no_object():
    with pytest.raises(BadInput, match="the document must be an object"):
        layout_from_dict(json.loads("[1]"), "small.json")
