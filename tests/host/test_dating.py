"""Takes of a meter without a calendar are dated when a host tells the time, over several boots, as bounds that hold."""

import random
import time
from dataclasses import replace

import pytest
from reedbench.clock import Sighting
from reedbench.history import in_order
from reedbench.ledger import Ledger
from reedbench.ledger.dating import LONG_AGO_S, Run, Seen, began
from reedbench.ledger.rows import TOLD_S
from reedbench.surveys import day
from test_host_ledger import SENDER, survey, take

NOON = 1_800_000_000.0


def seen(at_s, boot, up_s, next_sequence, held=True):
    """Seen at that time for a hundredth of a second."""
    us = int(1e6 * up_s) % (1 << 30)
    return Seen(Sighting(at_s, at_s + 0.01, boot, int(up_s), us, NOON - 99999, held), next_sequence)


def test_a_run_that_a_host_saw_is_known_to_a_second():
    (bounds,) = began([Run(5, 0, 900)], [seen(NOON, 5, 1000.4, 3)]).values()
    assert bounds == pytest.approx((NOON - 1001, NOON - 1000 + 0.01))
    assert bounds[0] <= NOON - 1000.4 <= bounds[1]


def test_runs_that_nobody_saw_lie_between_and_follow_each_other():
    """Loaded at noon, then switched on three times with nobody there, and pulled a day later in a fourth run."""
    runs = [Run(2, 0, 600), Run(3, 10, 300), Run(4, 20, 60)]
    found = began(runs, [seen(NOON, 1, 100, 0), seen(NOON + 86400, 5, 50, 30)])
    assert found[2] == pytest.approx((NOON, NOON + 86400 - 50 - 60 - 300 - 600), abs=0.02)
    assert found[3] == pytest.approx((NOON + 600, NOON + 86400 - 50 - 60 - 300), abs=0.02)
    assert found[4] == pytest.approx((NOON + 900, NOON + 86400 - 50 - 60), abs=0.02)


def test_what_another_host_told_the_meter_dates_that_run_and_bounds_the_next():
    found = began([Run(2, 0, 600, told=(NOON, NOON)), Run(3, 10, 300)], [seen(NOON + 5000, 4, 10, 20)])
    assert found[2] == (NOON - TOLD_S, NOON + TOLD_S)
    assert found[3] == pytest.approx((NOON - TOLD_S + 600, NOON + 5000 - 10 - 300), abs=0.02)


def test_nobody_has_ever_told_the_time():
    assert began([Run(2, 0, 600)], []) == {}


def test_before_the_first_sighting_ever():
    found = began([Run(2, 0, 600)], [seen(NOON, 3, 10, 4)])
    assert found[2] == pytest.approx((LONG_AGO_S, NOON - 610), abs=0.02)


@pytest.mark.parametrize("wrong_s", [-300_000_000, -3600, 7200, 300_000_000])
def test_a_host_clock_that_jumps_does_no_harm(wrong_s):
    """The host believed another time when it loaded; and what it believed is dropped where it cannot be."""
    runs = [Run(1, 0, 700), Run(2, 10, 600)]
    truth = {1: NOON - 10, 2: NOON + 5000}
    found = began(runs, [seen(NOON + wrong_s, 1, 10, 0, held=False), seen(NOON + 6000, 2, 1000, 20)])
    assert found[2] == pytest.approx((truth[2] - 1, truth[2]), abs=0.02), "seen by a clock that is held"
    believed = truth[1] + wrong_s
    if LONG_AGO_S < believed < truth[2]:  # nothing contradicts it
        assert found[1] == pytest.approx((believed - 1, believed), abs=0.02)
    else:
        assert found[1][0] <= truth[1] <= found[1][1]
    both = began(
        runs, [seen(NOON + wrong_s, 1, 10, 0, held=False), seen(NOON, 1, 10, 0), seen(NOON + 6000, 2, 1000, 20)]
    )
    assert both[1] == pytest.approx((truth[1] - 1, truth[1]), abs=0.02), "a clock that is held goes first"


def test_two_unheld_clocks_that_disagree_widen_the_bounds():
    loose = [seen(NOON, 1, 10, 0, held=False), seen(NOON + 3000, 1, 1010, 5, held=False)]
    assert began([Run(1, 0, 700)], loose)[1] == pytest.approx((NOON - 11, NOON + 1990), abs=0.02)


@pytest.mark.parametrize("seed", range(20))
def test_the_truth_always_lies_within_the_bounds(seed):
    """Some weeks of a meter that is switched on and off, seen by a host now and then."""
    dice = random.Random(seed)
    now, sequence = NOON, 0
    runs, sightings, truth = [], [], {}
    for boot in range(1, 15):
        now += dice.expovariate(1 / 86400)
        truth[boot], first, up = now, sequence, 0.0
        for _ in range(dice.randrange(4)):
            up += dice.uniform(1, 3000)
            sequence += dice.randrange(1, 5)
        if sequence > first:
            runs.append(Run(boot, first, int(up)))
        if dice.random() < 0.3:
            up += dice.uniform(1, 3000)
            sightings.append(seen(now + up, boot, up, sequence, held=dice.random() < 0.7))
        now += up
    found = began(runs, sightings)
    assert found or not sightings or all(one.next_sequence == 0 for one in sightings)
    for boot, (earliest, latest) in found.items():
        assert earliest - 1e-6 <= truth[boot] <= latest + 1e-6, boot


@pytest.fixture
def ledger(tmp_path):
    with Ledger.open(tmp_path / "ledger.db", write=True) as ledger:
        yield ledger


def test_takes_of_three_boots_are_dated_when_the_meter_is_pulled(ledger):
    """In the order of a shop's day: loaded, three surveys with the meter switched off in between, pulled."""
    ledger.keep_sightings(SENDER, 0, [seen(NOON, 1, 20, 0).sighting])
    rows = [survey(0), take(1, 5, 1, boot=1, up_s=80), survey(2), take(3, 5, 1, boot=2, up_s=30, survey=2)]
    rows += [survey(4), take(5, 5, 1, boot=3, up_s=40, survey=4)]
    ledger.keep(SENDER, [replace_time(row) for row in rows])
    assert [one.unix_s for one in ledger.surveys()] == [NOON + 60, None, None]
    assert [day(one) for one in ledger.surveys()][1:] == ["undated", "undated"]
    ledger.keep_sightings(SENDER, 6, [seen(NOON + 100_000, 3, 100, 6).sighting])
    first, second, third = ledger.surveys()
    assert (first.unix_s, first.unix_within_s) == (NOON + 60, 1.0)
    assert (third.unix_s, third.unix_within_s) == (NOON + 100_000 - 60, 1.0)
    assert second.unix_s - second.unix_within_s == pytest.approx(NOON + 60 + 30, abs=2)
    assert second.unix_s + second.unix_within_s == pytest.approx(NOON + 100_000 - 100, abs=2)
    ends = [time.strftime("%Y-%m-%d", time.localtime(one)) for one in (NOON + 90, NOON + 100_000 - 100)]
    assert day(second) == " to ".join(ends)
    assert ledger.takes(3)[0].unix_s == third.unix_s and ledger.takes(3)[0].up_s == 40


def test_what_the_meter_was_told_stands_where_nothing_better_is_known(ledger):
    ledger.keep(SENDER, [survey(0), take(1, 5, 1, boot=1, up_s=80, unix_s=int(NOON))])
    (one,) = ledger.takes(1)
    assert (one.unix_s, one.unix_within_s) == (NOON, 2.5)
    assert day(replace(ledger.survey(1), unix_s=int(NOON), unix_within_s=1e8)).startswith("before ")


def test_surveys_of_one_journal_keep_their_order_whatever_clocks_say(ledger):
    ledger.keep(SENDER, [survey(0), survey(1)])
    first, second = ledger.surveys()
    jumped = replace(first, since_unix_s=first.since_unix_s + 10**8)
    assert in_order([second, jumped]) == [jumped, second]
    assert in_order([other := replace(second, epoch=8), jumped]) == [other, jumped]


def replace_time(raw):
    """The record without a time of day, as a meter that was never told it writes it."""
    from reedbench.firmware.wire import record

    kind, sequence, values = record.unpack(raw)
    return record.pack(kind, sequence, {**values, "unix_s": 0})
