"""The control reed: how far it says that the instrument moved, and whether readings then hold what they claim."""

from itertools import pairwise

import numpy as np
import pytest
from reedbench.control import Control, Sounded
from reedbench.firmware.wire import agree
from reedbench.load import load
from reedbench.reading import control, readings
from shop import instrument, take

MINUTES = 25.0  # of a survey


def sent(kind, control):
    """What the meter is asked when that instrument is loaded, but for the last: the instrument, then its reeds."""
    asked = []

    class Meter:
        def request(self, kind, /, **values):
            asked.append(values)
            return {"stored": len(asked) - 2}

    load(Meter(), kind, "assembled", 0, control=control)
    return asked[:-1]


def walked(kind, rng, moved, scatter=0.35, controls=True):
    """(takes, true cents by ordinal from the mean over the survey) of a survey in which the instrument moves.

    `moved`: function of the share of the survey that is over, in cents.
    """
    names = [reed["ordinal"] for reed in sent(kind, 0 if controls else None)[1:]]
    own = {reed.ordinal: rng.normal(0, 8) for reed in kind.reeds}
    heard, seen, then = [], {}, {}
    learned = agree.Scatter()
    for place, ordinal in enumerate(names):
        role = seen.get(ordinal, 0)
        seen[ordinal] = role + 1
        part = place / (len(names) - 1)
        if not role:
            then[ordinal] = float(moved(part))
        points = []
        while agree.verdict(points, learned.cents) == "again":
            points.append((own[ordinal] + float(moved(part)) + rng.normal(0, scatter), 0.02))
            heard.append(
                take(
                    kind,
                    ordinal,
                    len(points),
                    points[-1][0],
                    sequence=len(heard),
                    se_cents=0.02,
                    role=role,
                    up_s=int(60 * MINUTES * part),
                    scatter_cents=learned.cents,
                )
            )
        learned.learn(points)
    mean = np.mean(list(then.values()))
    return heard, {ordinal: cents + mean for ordinal, cents in own.items()}


def linear(cents):
    return lambda part: cents * part


def warming(cents):
    """Most of it in the first quarter, as breath warms it."""
    return lambda part: -cents * (1 - np.exp(-4 * part))


@pytest.mark.parametrize("moved", [linear(0.0), linear(0.5), linear(-1.5), warming(2.0), warming(4.0)])
def test_readings_of_an_instrument_that_moves_hold_what_they_claim(moved):
    kind = instrument()
    rng = np.random.default_rng(11)
    covered, plain = [], []
    for _ in range(25):
        heard, truth = walked(kind, rng, moved)
        blind = [one for one in heard if not one.role]
        for into, takes in ((covered, heard), (plain, blind)):
            for ordinal, reading in readings(kind, takes).items():
                into.append(abs(reading.cents - truth[ordinal]) <= reading.u95_cents)
    assert 0.92 <= np.mean(covered) <= 0.995, np.mean(covered)
    if abs(moved(1.0)) > 1:
        assert np.mean(plain) < 0.85, "without a control reed nobody would know"


def test_what_it_says_about_the_drift_is_true_within_what_it_states():
    kind = instrument()
    rng = np.random.default_rng(12)
    within, known = [], []
    for _ in range(150):
        heard, _ = walked(kind, rng, linear(1.2))
        found = control(kind, heard)
        within.append(abs(found.cents - 1.2) <= found.u95_cents)
        known.append(found.u95_cents)
        assert found.minutes == pytest.approx(MINUTES, abs=0.1) and len(found.sounded) == 3
    assert 0.9 <= np.mean(within) <= 0.99 and np.median(known) < 0.8


def test_a_survey_without_drift_is_hardly_punished_for_having_looked():
    kind = instrument()
    rng = np.random.default_rng(13)
    with_it, without = [], []
    for _ in range(20):
        heard, _ = walked(kind, rng, linear(0.0))
        with_it += [one.u95_cents for one in readings(kind, heard).values()]
        without += [one.u95_cents for one in readings(kind, [one for one in heard if not one.role]).values()]
    assert np.median(with_it) < 1.12 * np.median(without) and np.mean(with_it) < 1.2 * np.mean(without)


def test_the_reading_is_told_how_far_it_was_and_not_corrected():
    kind = instrument()
    heard, _ = walked(kind, np.random.default_rng(14), linear(4.0), scatter=0.05)
    blind = readings(kind, [one for one in heard if not one.role])
    order = kind.sounding_order()
    for ordinal, reading in readings(kind, heard).items():
        assert reading.cents == blind[ordinal].cents and reading.used == blind[ordinal].used
        place = 4.0 * order.index(ordinal) / len(order) - 2.0
        assert reading.drift_cents == pytest.approx(place, abs=0.25)
        assert reading.u95_cents == pytest.approx(blind[ordinal].u95_cents + abs(place), abs=0.3)


def test_without_or_with_half_a_control_reed_all_goes_on():
    kind = instrument()
    heard, _ = walked(kind, np.random.default_rng(15), linear(1.0))
    assert control(kind, [one for one in heard if not one.role]) is None
    lone = [one for one in heard if not one.role or one.number == 1]
    assert control(kind, lone) is None, "no two takes of a control sounding that agree"
    half = [one for one in heard if one.role < 2]
    assert len(control(kind, half).sounded) == 2 and readings(kind, half)[5].cents is not None
    old = [take(kind, 0, 1, 1.0), take(kind, 0, 2, 1.0), take(kind, 0, 1, 1.0, role=1), take(kind, 0, 2, 1.0, role=1)]
    assert control(kind, old) is None, "without times"


def test_between_the_soundings_it_goes_straight():
    """By hand: 0, 3 and 4 cents at 0, 100 and 200 s; the reeds sounded at 0, 50, 100, 150 and 200 s, mean 2.4."""
    drift = Control(0, [Sounded(0, 0.0, 0.3), Sounded(100, 3.0, 0.3), Sounded(200, 4.0, 0.3)], [0, 50, 100, 150, 200])
    assert [drift.at(at).cents for at in (0, 50, 100, 175, 200, 999)] == pytest.approx(
        [-2.4, -0.9, 0.6, 1.35, 1.6, 1.6]
    )
    # Shares of the mean: 0.3, 0.4, 0.3. At 0 s: 0.7, -0.4, -0.3.
    assert drift.at(0).u_cents == pytest.approx(0.3 * (0.49 + 0.16 + 0.09) ** 0.5)
    assert drift.at(0).adds_cents == pytest.approx((2.4**2 - drift.at(0).u_cents ** 2) ** 0.5)
    assert drift.at(100).adds_cents > 0 == drift.at(78).adds_cents


@pytest.mark.parametrize(("layout", "ordinal"), [("solo-12", 0), ("richter-10", 7), ("accordion-41", 20)])
def test_the_meter_is_sent_the_control_reed_three_times(layout, ordinal):
    kind = instrument(layout)
    head, *reeds = sent(kind, ordinal)
    order = [reed["ordinal"] for reed in reeds]
    count = len(kind.reeds)
    places = [place for place, one in enumerate(order) if one == ordinal]
    assert head["reeds"] == len(order) == count + 2 and places == [0, count // 2, count + 1]
    rest = [one for one in order if one != ordinal]
    assert rest == [one for one in kind.sounding_order() if one != ordinal]
    plates = [reed["plate"] for reed in reeds]
    assert sum(a != b for a, b in pairwise(plates)) == sum(
        kind.reeds[a].plate != kind.reeds[b].plate for a, b in pairwise(rest)
    ), "on the screen it stands in the rows that there are"
