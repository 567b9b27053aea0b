"""Layouts against the published tables, typed in here by hand; what is from memory is held to be marked so."""

import pytest
from reedbench import layouts
from reedbench.firmware.wire.messages import REEDS_MAX

# Columns: blow out, draw out, blow in, draw in. Encyclopedia "Chromatic harmonica" (layout, D in the last hole, sixteen
# holes begin an octave lower) and "Solo tuning"; its row for the slide pressed is C# F# as semitones above, not C F as
# one mirror prints.
TWELVE = """
60 62 61 63   64 65 65 66   67 69 68 70   72 71 73 72
72 74 73 75   76 77 77 78   79 81 80 82   84 83 85 84
84 86 85 87   88 89 89 90   91 93 92 94   96 95 97 98
"""
OCTAVE_BELOW = "48 50 49 51   52 53 53 54   55 57 56 58   60 59 61 60"
# From memory: eight, ten and fourteen holes (of the last, that it begins with G3 is the encyclopedia's).
EIGHT = """
60 62 61 63   64 65 65 66   67 69 68 70   72 71 73 72
72 74 73 75   76 77 77 78   79 81 80 82   84 83 85 86
"""
TEN = """
60 62 61 63   64 65 65 66   67 69 68 70   72 71 73 72
72 74 73 75   76 77 77 78   79 81 80 82   84 83 85 84
84 86 85 87   88 89 89 90
"""
FOURTEEN = "55 57 56 58   60 59 61 60" + TWELVE

# On-Line Encyclopedia of Integer Sequences A291810: semitones above hole 1 blow, blow and draw hole by hole.
RICHTER = (0, 2, 4, 7, 7, 11, 12, 14, 16, 17, 19, 21, 24, 23, 28, 26, 31, 29, 36, 33)
# Encyclopedia "Richter tuning", variants: blow and draw hole by hole. At draw 6 and 10 natural minor has A natural;
# a shop's page prints Ab at draw 10 against its own text.
NATURAL_MINOR = "60 62  63 67  67 70  72 74  75 77  79 81  84 82  87 86  91 89  96 93"
HARMONIC_MINOR = "60 62  63 67  67 71  72 74  75 77  79 80  84 83  87 86  91 89  96 92"

# Notes of each breath: a 21-column table (hobby page), blow C E G C ..., draw D F A B ...; the octave from memory.
TREMOLO_21 = {"blow": "60 64 67 72 76 79 84 88 91 96", "draw": "62 65 69 71 74 77 81 83 86 89 93"}
# From memory.
TREMOLO_24 = "55 62 60 65 64 69 67 71 72 74 76 77 79 81 84 83 88 86 91 89 96 93 100 95"

# From memory: press and draw, row by row; left accidental, C, G, then right.
ANGLO = """
52 53  57 58  61 63  69 67  68 70   48 55  55 59  60 62  64 65  67 69   59 57  62 66  67 69  71 72  74 76
73 75  81 79  80 82  85 87  93 89   72 71  76 74  79 77  84 81  88 83   79 78  83 81  86 84  91 88  95 90
"""

# Layout: lowest and highest note that sounds, keys, reeds.
RANGES = {
    "melodica-32": (53, 84, 32, 32),  # a guide to melodica ranges: F3 to C6
    "melodica-37": (53, 89, 37, 37),  # the same: F3 to F6
    "accordion-41": (41, 105, 41, 328),  # accordion pages: F3 to A6, F2 to A7 with the octave banks
    "accordion-45": (40, 108, 45, 360),  # page on accordions of 45 and 47 keys: E3 to C7
    "accordion-37": (41, 89, 37, 222),  # this and what follows: from memory
    "accordion-34": (43, 88, 34, 204),
    "accordion-30": (59, 88, 30, 120),
    "accordion-26": (59, 84, 26, 104),
    "harmonium-39": (36, 98, 39, 117),
    "harmonium-42": (36, 101, 42, 126),
}

UNCONFIRMED = {
    "solo-8", "solo-10", "solo-14", "tremolo-21", "tremolo-24", "anglo-30", "harmonium-39", "harmonium-42",
    "accordion-26", "accordion-30", "accordion-34", "accordion-37",
}  # fmt: skip
CONFIRMED = {
    "solo-12", "solo-16", "richter-10", "richter-10-natural-minor", "richter-10-harmonic-minor",
    "melodica-32", "melodica-37", "accordion-41", "accordion-45",
}  # fmt: skip


def numbers(text):
    return [int(word) for word in text.split()]


def notes(layout_id, **wanted):
    """MIDI notes of the reeds of which all of `wanted` holds, in the order of the layout."""
    reeds = layouts.load(layout_id).reeds
    return [reed.midi for reed in reeds if all(getattr(reed, name) == value for name, value in wanted.items())]


def test_which_are_published_and_which_from_memory():
    assert set(layouts.names()) == UNCONFIRMED | CONFIRMED
    for name in layouts.names():
        layout = layouts.load(name)
        assert layout.unconfirmed == (name in UNCONFIRMED)
        assert "from memory" in layout.source.lower() or not layout.unconfirmed


@pytest.mark.parametrize(
    ("layout", "table"),
    [
        ("solo-8", EIGHT),
        ("solo-10", TEN),
        ("solo-12", TWELVE),
        ("solo-14", FOURTEEN),
        ("solo-16", OCTAVE_BELOW + TWELVE),
        ("richter-10-natural-minor", NATURAL_MINOR),
        ("richter-10-harmonic-minor", HARMONIC_MINOR),
        ("anglo-30", ANGLO),
    ],
)
def test_tables_reed_by_reed(layout, table):
    assert notes(layout) == numbers(table)


def test_solo_tuning_counts():
    # Arithmetic on the table: every semitone is there, and equal notes are reeds of their own.
    for layout, reeds, low in (("solo-12", 48, 60), ("solo-16", 64, 48)):
        assert len(notes(layout)) == reeds and set(notes(layout)) == set(range(low, 99))
    # "Common, though by no means present in all" (encyclopedia): D or C in the last hole, the usual one first.
    assert layouts.load("solo-12").last_hole == layouts.load("solo-16").last_hole == (("D", 98), ("C", 96))


def test_richter():
    reeds = layouts.load("richter-10").reeds
    assert tuple(reed.midi - 60 for reed in reeds) == RICHTER
    assert [reed.breath for reed in reeds] == ["blow", "draw"] * 10
    assert len(set(RICHTER)) == 19


def test_minors_are_richter_with_some_reeds_a_semitone_lower():
    # Encyclopedia "Richter tuning": which holes.
    third = {("2", "blow"), ("5", "blow"), ("8", "blow")}
    for layout, lowered in (
        ("richter-10-natural-minor", third | {("3", "draw"), ("7", "draw")}),
        ("richter-10-harmonic-minor", third | {("6", "draw"), ("10", "draw")}),
    ):
        pairs = zip(layouts.load("richter-10").reeds, layouts.load(layout).reeds, strict=True)
        moved = {(a.place, a.breath): a.midi - b.midi for a, b in pairs if a.midi != b.midi}
        assert moved == dict.fromkeys(lowered, 1)


def test_tremolo_columns_and_pairs():
    # Encyclopedia "Tremolo harmonica": two reeds for each note, one on each plate.
    for breath, table in TREMOLO_21.items():
        assert notes("tremolo-21", breath=breath, member="base") == numbers(table)
    assert notes("tremolo-24", member="base") == numbers(TREMOLO_24)
    for name, columns in (("tremolo-21", 21), ("tremolo-24", 24)):
        reeds = layouts.load(name).reeds
        assert len(reeds) == 2 * columns and len({reed.place for reed in reeds}) == columns
        for high in (reed for reed in reeds if reed.member == "high"):
            base = reeds[high.base]
            assert (base.place, base.breath, base.midi, base.base) == (high.place, high.breath, high.midi, None)
            assert {base.plate, high.plate} == {"upper", "lower"} and high.side == 1
        # A maker's public guide: 440 against 442 at A4; how it grows with pitch is from memory.
        assert layouts.load(name).pairs.partner_hz(440.0, 1, 440.0) == 442.0


@pytest.mark.parametrize("layout", RANGES)
def test_ranges_of_keyboards(layout):
    low, high, keys, reeds = RANGES[layout]
    there = layouts.load(layout)
    assert (min(notes(layout)), max(notes(layout)), there.holes, len(there.reeds)) == (low, high, keys, reeds)
    assert not there.transposing


def test_accordion_reeds_push_and_pull_alike_in_banks_an_octave_apart():
    # Accordion pages: reeds in pairs on one plate, tuned alike; registers L, M, H an octave apart.
    middle = list(range(53, 94))
    assert notes("accordion-41", member="M", breath="push") == middle
    for member, up in (("L", -12), ("M", 0), ("M+", 0), ("H", 12)):
        for breath in ("push", "pull"):
            assert notes("accordion-41", member=member, breath=breath) == [midi + up for midi in middle]


@pytest.mark.parametrize("layout", ["harmonium-39", "harmonium-42"])
def test_where_harmonium_banks_begin(layout):
    # Page on harmonium reed banks: bass 65.41 Hz, male 130.81 Hz, female 261.63 Hz.
    assert [notes(layout, member=bank)[0] for bank in ("bass", "male", "female")] == [36, 48, 60]
    assert {reed.breath for reed in layouts.load(layout).reeds} == {""}


def test_anglo_confirmed_part():
    # A survey of 30-button layouts, 2000: there is one C# in the middle of the range on the push.
    assert notes("anglo-30", breath="push").count(61) == 1
    assert (min(notes("anglo-30")), max(notes("anglo-30"))) == (48, 95)


@pytest.mark.parametrize("layout", sorted(UNCONFIRMED | CONFIRMED))
def test_all_fit_a_meter(layout):
    reeds = layouts.load(layout).reeds
    assert 0 < len(reeds) <= REEDS_MAX == 480
    assert [reed.ordinal for reed in reeds] == list(range(len(reeds)))
    labels = [(reed.place, reed.breath, reed.slide, reed.member) for reed in reeds]
    assert len(set(labels)) == len(labels)
