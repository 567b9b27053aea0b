"""Which reference A costs least: against the plan itself, made anew for each A."""

import time
from dataclasses import replace

import numpy as np
import pytest
from reedbench.errors import BadInput
from reedbench.evidence import Evidence
from reedbench.plan import plan
from reedbench.reading import readings
from reedbench.reference import costs, least, own
from reedbench.tuning import cents_between
from shop import instrument, surveyed, take, takes


def read(kind, errors):
    return readings(kind, takes(kind, errors))


def at(kind, reference_hz):
    return replace(kind, order=replace(kind.order, reference_hz=reference_hz))


@pytest.mark.parametrize("layout", ["solo-16", "tremolo-24"])
def test_counts_are_those_of_the_plan_at_each_reference(layout):
    """The plan is made at each A from the same takes; a pair's beats and the temperament included."""
    kind = instrument(layout, temperament="just", stretch_cents_per_octave=1.0, drop_cents=1.5)
    heard, _ = surveyed(kind, np.random.default_rng(4), outliers=0, error=5)
    found = costs(kind, readings(kind, heard), 438.0, 443.0)
    assert [cost.reference_hz for cost in found] == pytest.approx([438 + n / 10 for n in range(51)])
    for cost in found[::10]:
        items = plan(Evidence(at(kind, cost.reference_hz), readings(at(kind, cost.reference_hz), heard))).items
        moves = [item.move_cents for item in items if item.verdict == "off"]
        assert cost.off == len(moves) and cost.lower == sum(move < 0 for move in moves)
        assert cost.good == sum(item.verdict == "good" for item in items)
        assert cost.unsure == sum(item.verdict == "unsure" for item in items)
        assert cost.total_cents == pytest.approx(sum(map(abs, moves)), abs=1e-6)
        assert cost.most_up_cents == pytest.approx(max([0.0, *moves]), abs=1e-6)
        assert cost.most_down_cents == pytest.approx(-min([0.0, *moves]), abs=1e-6)


def test_an_instrument_that_went_flat_as_a_whole():
    """All reeds 8 cents flat, five of them worse: 440 Hz asks for all 48, its own A for five."""
    kind = instrument()
    known = read(kind, {n: -8.0 - (n < 5) * 6 for n in range(48)})
    ordered = costs(kind, known, 440, 440)[0]
    best = own(kind, known)
    assert (ordered.off, ordered.lower, ordered.most_up_cents) == (48, 0, pytest.approx(14))
    assert (best.off, best.lower, best.good, best.unsure) == (5, 0, 43, 0)
    assert cents_between(best.reference_hz, 440) == pytest.approx(-8, abs=0.2)


def test_the_best_within_what_is_accepted():
    kind = instrument()
    known = read(kind, dict.fromkeys(range(48), -8.0))
    best = least(costs(kind, known, 439, 442), 440)
    assert best.reference_hz == 439 and best.off == 48 and best.most_up_cents == pytest.approx(8 - 3.94, abs=0.01)


def test_of_references_alike_the_nearest_to_the_order():
    kind = instrument()
    assert least(costs(kind, read(kind, {}), 435, 445), 440).reference_hz == pytest.approx(440)


def test_lowering_weighs_more_than_raising():
    """Half the reeds at 0, half at 6 cents: either half may move; the lower ones up rather than the others down."""
    kind = instrument()
    best = own(kind, read(kind, dict.fromkeys(range(24), 6.0)))
    assert best.off == 24 and best.lower == 0
    assert cents_between(best.reference_hz, 440) == pytest.approx(6, abs=2)


def test_reeds_without_a_reading_and_reeds_apart_are_said():
    kind = instrument()
    known = readings(kind, [take(kind, n, number, -3.0) for n in range(40) for number in (1, 2)])
    known[7] = replace(known[7], cents=-80.0)
    cost = costs(kind, known, 440, 440, apart={7})[0]
    assert cost.unread == 9 and cost.off + cost.good + cost.unsure == 39 and cost.most_up_cents < 4
    nothing = costs(kind, readings(kind, []), 440, 441)
    assert all((cost.off, cost.unread, cost.total_cents) == (0, 48, 0.0) for cost in nothing)
    assert own(kind, readings(kind, [])) is None


@pytest.mark.parametrize(("low", "high"), [(442, 440), (300, 440), (440, 500), (float("nan"), 440)])
def test_a_range_that_is_none(low, high):
    with pytest.raises(BadInput, match="from 392 to 470 Hz"):
        costs(instrument(), {}, low, high)


def test_a_wide_range_is_quick():
    kind = instrument("accordion-41")
    known = read(kind, {n: (n * 37 % 17) - 8.0 for n in range(328)})
    costs(kind, known, 440, 441)
    start = time.perf_counter()
    found = costs(kind, known, 392, 470)
    assert len(found) == 781 and time.perf_counter() - start < 0.3
