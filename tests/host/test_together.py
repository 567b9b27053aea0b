"""Beats of what sounds together, against published tables."""

from dataclasses import replace

import pytest
from reedbench.reading import readings
from reedbench.together import CHORDS, GOAL_HZ, OCTAVE, PAIR, UNISON, together
from shop import instrument, take, takes

NAMED = {interval.name: interval for interval in (UNISON, OCTAVE, PAIR, *CHORDS)}


def found(kind, errors=None, after=None, **options):
    return together(kind, readings(kind, takes(kind, errors or {})), after, **options)


@pytest.mark.parametrize(
    ("name", "rates"),
    [
        ("major third", "6.9 7.3 7.8 8.2 8.7 9.2 9.8 10.4 11.0 11.7 12.3"),
        ("fourth", "0.8 0.8 0.9 0.9 1.0 1.1 1.1 1.2 1.3 1.3"),
        ("fifth", "0.6 0.6 0.7 0.7 0.7 0.8 0.8 0.9"),
        ("major sixth", "7.9 8.4 8.9 9.4 10.0 10.6"),
        ("minor third", "9.4 10.0 10.6 11.2 11.9 12.6 13.3 14.1"),
        ("minor sixth", "11.0 11.7 12.3 13.1 13.9 14.7 15.6"),
    ],
)
def test_equal_temperament_beats_as_published(name, rates):
    # J. Neurosci. 32(35), 12251-12257 (2012), Table 1: lower note F3 and up by semitones, A = 440 Hz.
    beats = [one for one in found(instrument("melodica-37"), chords=True) if one.interval.name == name]
    rows = sorted(beats, key=lambda one: one.lower.midi)[: len(rates.split())]
    assert rows[0].lower.note == "F3"
    assert [f"{abs(row.wanted_hz):.1f}" for row in rows] == rates.split()
    wide = name in ("fourth", "major third", "major sixth")
    assert all((row.wanted_hz > 0) == wide for row in rows)


def test_three_thirds_of_a_textbook():
    """J. C. Fischer, Piano Tuning, 1907, lesson XIII, C = 256: C-E 10 and G#-C 16 beats; the E-G# of the text,
    13 1/10, is a misprint of 12 8/10, as exact arithmetic with its own frequencies (322.5, 406.4) shows."""
    third = NAMED["major third"]
    c, e, g_sharp = 256.0, 256 * 2 ** (4 / 12), 256 * 2 ** (8 / 12)
    assert [round(e, 1), round(g_sharp, 1)] == [322.5, 406.4]
    assert third.wide_hz(c, e) == pytest.approx(10.16, abs=0.005)
    assert third.wide_hz(e, g_sharp) == pytest.approx(12.80, abs=0.005)
    assert third.wide_hz(g_sharp, 2 * c) == pytest.approx(16.13, abs=0.005)


def test_simple_beats():
    # Exact arithmetic: 440 with 442, 220 with 441.
    assert UNISON.wide_hz(440, 442) == 2
    assert OCTAVE.wide_hz(220, 441) == 1


def test_doubled_notes_of_solo_tuning():
    twelve = found(instrument())
    unisons = {frozenset((one.lower.label, one.upper.label)) for one in twelve if one.interval is UNISON}
    assert frozenset(("4 blow, slide out", "5 blow, slide out")) in unisons  # the doubled C
    assert frozenset(("4 draw, slide in", "4 blow, slide out")) in unisons  # B# slid in is C
    assert frozenset(("2 blow, slide in", "2 draw, slide out")) in unisons  # E# slid in is F
    # Two of C5, C6 and C#5, C#6 each, one slid in of each C and F: 3 + 3 + 1 + 1 + 1 + 1 + 1 pairs.
    assert len(unisons) == 11
    octaves = [one for one in twelve if one.interval is OCTAVE]
    assert all(one.upper.midi - one.lower.midi == 12 for one in octaves) and len(octaves) > 36
    assert all(one.wanted_hz == pytest.approx(0, abs=1e-9) for one in twelve)


def test_doubled_fifth_of_a_ten_hole():
    unisons = [one for one in found(instrument("richter-10")) if one.interval is UNISON]
    assert [(one.lower.label, one.upper.label, one.at_once) for one in unisons] == [("2 draw", "3 blow", False)]


def test_worst_first_against_the_goal():
    kind = instrument()
    rows = found(kind, {12: 6.0, 5: -3.0, 40: 2.0})
    shares = [row.off_hz / row.goal_hz for row in rows]
    assert shares == sorted(shares, reverse=True) and shares[0] > 3
    assert 12 in (rows[0].lower.ordinal, rows[0].upper.ordinal)


def test_goal_is_half_a_beat_or_a_cent():
    goals = {one.upper.note: one.goal_hz for one in found(instrument()) if one.interval is UNISON}
    assert goals["C5"] == GOAL_HZ
    assert goals["C6"] == pytest.approx(0.6047, abs=1e-3)  # one cent there: exact arithmetic


def test_now_and_after():
    kind = instrument()
    low, high = (reed for reed in kind.reeds if reed.label in ("4 blow, slide out", "5 blow, slide out"))
    rows = found(kind, {low.ordinal: -7.0, high.ordinal: 0.0}, {low.ordinal: -1.0, high.ordinal: 0.0})
    row = next(one for one in rows if (one.lower, one.upper) == (low, high))
    assert row.now_hz == pytest.approx(2.1114, abs=1e-3)  # C5 523.2511 with 521.1397 Hz: exact arithmetic
    assert row.after_hz == pytest.approx(0.302, abs=1e-3)
    assert row.off_hz > row.goal_hz > row.off_after_hz and row.at_once
    assert row.mean_cents == pytest.approx(-3.5, abs=0.01)


def test_uncertainty_of_a_beat_leaves_the_clock_out():
    kind = instrument()
    known = readings(kind, takes(kind, {}))
    known = {o: replace(r, u95_cents=0.5, clock_u95_cents=0.3) for o, r in known.items()}
    row = next(one for one in together(kind, known) if one.interval is UNISON and one.lower.note == "C5")
    assert row.u95_hz == pytest.approx(0.4 * 0.30233 * 2**0.5, rel=1e-3)  # 0.30233 Hz a cent at C5: exact arithmetic


def test_pairs_as_beat_and_mean():
    kind = instrument("accordion-26", pairs=None)
    base = next(reed for reed in kind.reeds if reed.note == "A4" and reed.breath == "push" and reed.base is None)
    partner = next(reed for reed in kind.reeds if reed.base == base.ordinal)
    rows = found(kind, {partner.ordinal: -3.0})
    row = next(one for one in rows if one.interval is PAIR and one.upper == partner)
    assert row.wanted_hz == pytest.approx(3.0)
    assert row.now_hz == pytest.approx(partner.target_hz * 2 ** (-3 / 1200) - 440)
    assert row.mean_cents == pytest.approx(-1.505, abs=0.01)
    assert row.at_once and partner in (rows[0].lower, rows[0].upper)
    # A tremolo reed's unison is the same bank's other bellows, never the base bank.
    assert all((one.lower.member == one.upper.member) == (one.interval is not PAIR) for one in rows)


def test_reeds_without_a_reading():
    kind = instrument()
    known = readings(kind, [take(kind, 0, n, 1.0) for n in (1, 2)])
    rows = together(kind, known, {})
    assert rows and all(row.now_hz is None and row.off_hz is None and row.after_hz is None for row in rows)
    assert together(kind, {}) == rows
