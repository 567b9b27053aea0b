"""What must hold for every plan, whatever the readings: no table of examples can flatter these."""

import random
from dataclasses import replace

import numpy as np
import pytest
from reedbench.evidence import Earlier, Evidence
from reedbench.instrument import KEYS
from reedbench.plan import plan
from reedbench.plan_data import plan_as_dict
from reedbench.reading import readings
from reedbench.tuning import raised
from shop import instrument, surveyed, take

PITCHED = ("midi", "note", "target_hz")


def lines(kind, heard):
    """The plan's reeds without what their pitch is."""
    entries = plan_as_dict(plan(Evidence(kind, readings(kind, heard))))["reeds"]
    return [{key: value for key, value in entry.items() if key not in PITCHED} for entry in entries]


@pytest.mark.parametrize("key", sorted(KEYS))
@pytest.mark.parametrize("layout", ["solo-12", "richter-10"])
def test_transposing_the_instrument_transposes_the_plan(layout, key):
    """Same errors in cents, other key and reference: the same plan, word for word."""
    home = instrument(layout)
    heard, _ = surveyed(home, np.random.default_rng(8))
    away = instrument(layout, key=key, reference_hz=452.0)
    moved = [
        replace(one, hz=one.hz * away.reeds[one.ordinal].target_hz / home.reeds[one.ordinal].target_hz) for one in heard
    ]
    assert lines(away, moved) == lines(home, heard)


@pytest.mark.parametrize("cents", [-31.77, 3.9, 250.0])
def test_moving_readings_and_reference_together_changes_nothing(cents):
    home = instrument()
    away = (
        instrument(reference_hz=raised(440.0, cents)) if abs(cents) < 100 else instrument(key="D", reference_hz=452.893)
    )
    heard, _ = surveyed(home, np.random.default_rng(9))
    ratio = away.reeds[0].target_hz / home.reeds[0].target_hz
    assert lines(away, [replace(one, hz=one.hz * ratio) for one in heard]) == lines(home, heard)


def test_order_of_takes_does_not_matter():
    kind = instrument("solo-16")
    heard, _ = surveyed(kind, np.random.default_rng(3))
    mixed = list(heard)
    random.Random(1).shuffle(mixed)
    assert plan_as_dict(plan(Evidence(kind, readings(kind, mixed)))) == plan_as_dict(
        plan(Evidence(kind, readings(kind, heard)))
    )


def test_every_line_is_of_one_piece():
    """Over surveys of all sorts: moves to the target, stops on the way, orders from 1, a reason in every line."""
    rng = np.random.default_rng(10)
    for _ in range(30):
        tolerance = float(rng.uniform(0.3, 10))
        kind = instrument(rng.choice(["solo-12", "richter-10", "tremolo-24"]), tolerance_cents=tolerance)
        heard, _ = surveyed(
            kind, rng, scatter=rng.uniform(0.05, 2), outliers=rng.uniform(0, 0.3), error=rng.uniform(0, 40)
        )
        heard += [take(kind, 3, 90 + n, None, ("unsteady",), sequence=9000 + n) for n in range(3)]
        made = plan(Evidence(kind, readings(kind, heard)))
        assert sorted(item.reed.ordinal for item in made.items) == list(range(len(kind.reeds)))
        assert [item.order for item in made.work()] == list(range(1, len(made.work()) + 1))
        for item in made.items:
            assert item.why and (item.order == 0) == (item.action == "leave")
            if item.zone is None:
                continue
            assert item.verdict in ("off", "unsure") and item.move_cents == -item.reading.cents
            assert (item.move_cents > 0) == (item.action == "raise") == (item.zone.name == "tip")
            assert abs(item.stop_cents) < abs(item.reading.cents) and 0 < item.thinner_percent < 50


@pytest.mark.parametrize("came_back", [-9.0, -1.0, 0.7, 9.0])
@pytest.mark.parametrize("tolerance", [0.4, 2.0, 5.0])
def test_no_reed_is_sent_backwards_whatever_the_last_pass_did(tolerance, came_back):
    """All reeds that were to be raised, and all to be lowered, ended that far from their stops."""
    kind = instrument("solo-16", tolerance_cents=tolerance)
    heard, _ = surveyed(kind, np.random.default_rng(4), error=6.0)
    known = readings(kind, heard)
    before = {
        n: Earlier(
            raised(kind.reeds[n].target_hz, one.cents + (-30 if n % 2 else 30)),
            0.5,
            "raise" if n % 2 else "lower",
            raised(kind.reeds[n].target_hz, one.cents - came_back),
        )
        for n, one in known.items()
        if one.cents is not None
    }
    made = plan(Evidence(kind, known, history=[before]))
    moved = [item for item in made.items if item.zone]
    assert moved and {abs(item.left_to_settle_cents) for item in moved} != {0.0}
    for item in moved:
        assert (item.stop_cents - item.reading.cents) * item.move_cents > 0
        assert abs(item.stop_cents) < abs(item.reading.cents) and abs(item.left_to_settle_cents) <= 1.5
