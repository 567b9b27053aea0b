"""The crystal's error from exchanges with random delays: close, honest about itself, and deaf to a clock that steps."""

import random
from dataclasses import replace

import pytest
from reedbench.clock import COUNTER_US, HOST_U_PPM, Rate, Sighting, binding, crystal, rate, together

LOOP_S = 0.016  # the meter looks at its link once a block


def sightings(ppm, seconds, dice, count=1000, start_us=0, step_at=None, step_s=0.0, moved_s=0.0):
    """Exchanges spread over `seconds` with a meter `ppm` too fast, whose loop and whose USB delay both wander."""
    found = []
    for place in range(count):
        asked = seconds * place / (count - 1) + dice.uniform(0, 0.01)
        read = asked + dice.uniform(0.0001, 0.001) + dice.uniform(0, LOOP_S)
        answered = read + dice.uniform(0.0001, 0.002) + (0.2 if dice.random() < 0.02 else 0)
        us = start_us + round(read * (1e6 + ppm))
        stepped = step_s if step_at is not None and asked > step_at else 0.0
        moved = moved_s if stepped else 0.0
        base = 1.7e9
        asked, answered = base + asked + stepped, base + answered + stepped
        found.append(Sighting(asked, answered, 7, us // 1_000_000, us % COUNTER_US, base - 5000 + moved))
    dice.shuffle(found)
    return found


def later(one, seconds, meter_us):
    """The same exchange so much later, by the clock here and by the meter's."""
    us = 1_000_000 * one.up_s + one.meter_us % 1_000_000 + meter_us
    count = (one.meter_us + meter_us) % COUNTER_US
    return replace(
        one, asked_s=one.asked_s + seconds, answered_s=one.answered_s + seconds, up_s=us // 1_000_000, meter_us=count
    )


@pytest.mark.parametrize("ppm", [50, -50, 0, 3.3])
def test_a_crystal_is_found_within_3_ppm_in_two_minutes(ppm):
    dice = random.Random(1)
    errors, inside = [], 0
    for _ in range(20):
        found = rate(sightings(ppm, 120, dice, start_us=dice.randrange(COUNTER_US)))
        errors.append(abs(found.ppm - ppm))
        inside += errors[-1] <= 2 * found.u_ppm
    assert max(errors) < 3 and inside >= 18, (max(errors), inside)


def test_a_survey_between_load_and_pull_is_a_long_baseline():
    """Two bursts of twenty exchanges, forty minutes apart: the counter has begun again twice."""
    dice = random.Random(2)
    early = sightings(-27, 0.4, dice, count=20)
    late = [later(one, 2400, round(2400 * (1e6 - 27))) for one in sightings(-27, 0.4, dice, count=20)]
    found = rate(early + late)
    assert abs(found.ppm + 27) < 1 and found.u_ppm < 1.5 and found.baseline_s == pytest.approx(2400, abs=1)


def test_slow_exchanges_do_no_harm():
    dice = random.Random(3)
    good = sightings(20, 120, dice)
    slow = [replace(one, asked_s=one.asked_s - 5, answered_s=one.answered_s + 9) for one in good]
    assert rate(good + slow).ppm == pytest.approx(rate(good).ppm, abs=1e-6)


def test_a_clock_that_was_set_in_between_gives_nothing():
    dice = random.Random(4)
    assert rate(sightings(0, 120, dice, step_at=60, step_s=0.5)) is None  # no line fits
    # Small enough to pass for a rate, but the running clock tells.
    assert rate(sightings(0, 120, dice, step_at=60, step_s=0.01, moved_s=0.01)) is None

    # Each of the two minutes is good by itself.
    assert crystal(sightings(40, 120, dice, step_at=60, step_s=0.5, moved_s=0.5)).ppm == pytest.approx(40, abs=3)


def test_runs_of_the_meter_are_not_mixed():
    dice = random.Random(5)
    first, second = sightings(20, 60, dice), sightings(20, 60, dice, start_us=123_456_789)
    second = [replace(later(one, 300, 0), boot=8) for one in second]
    found = crystal(first + second)
    assert found.ppm == pytest.approx(20, abs=3) and found.baseline_s == pytest.approx(60, abs=1)


def test_a_clock_that_nobody_holds_says_nothing():
    dice = random.Random(7)
    loose = [replace(one, held=False) for one in sightings(50, 120, dice)]
    assert crystal(loose) is None
    good = sightings(20, 120, dice)
    assert crystal(good + loose) == crystal(good)


def test_few_sightings_say_what_all_do():
    dice = random.Random(8)
    early = sightings(33, 60, dice)
    late = [later(one, 600, round(600 * (1e6 + 33))) for one in sightings(33, 60, dice)]
    few = [*binding(early), *binding(late)]
    assert len(few) < 60 and rate(few) == rate(early + late)


def test_too_few_and_too_close():
    dice = random.Random(6)
    assert rate([]) is None
    assert rate(sightings(0, 120, dice, count=2)[:1]) is None
    assert rate(sightings(0, 5, dice)) is None


def test_baselines_together():
    assert together([]) is None
    one = Rate(10.0, 2.0, 100.0)
    assert together([one]) == one
    two = together([one, Rate(12.0, 2.0, 300.0)])
    assert two.ppm == pytest.approx(11) and two.u_ppm == pytest.approx(2**0.5) and two.baseline_s == 300
    # A crystal that wandered with its temperature: the scatter counts.
    assert together([one, Rate(30.0, 2.0, 300.0)]).u_ppm == pytest.approx(10)
    assert together([Rate(1.0, 1.0, 9.0)] * 100).u_ppm == HOST_U_PPM
