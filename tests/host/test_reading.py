"""Takes to readings: which count, what they say together, and whether the uncertainty is honest."""

import random

import numpy as np
import pytest
from reedbench.errors import BadInput
from reedbench.reading import readings
from shop import instrument, surveyed, take, takes


def one(*made):
    """Reading of reed 0 from takes given as (cents, flags) or cents."""
    kind = instrument()
    heard = []
    for number, entry in enumerate(made, start=1):
        cents, flags = entry if isinstance(entry, tuple) else (entry, ())
        heard.append(take(kind, 0, number, cents, flags))
    return readings(kind, heard)[0]


def test_agreeing_takes_are_averaged():
    reading = one(4.0, 4.4)
    assert reading.cents == pytest.approx(4.2) and reading.used == (1, 2) and reading.state == "done"


def test_the_sharper_take_weighs_more():
    kind = instrument()
    heard = [take(kind, 0, 1, 0.0, se_cents=0.01), take(kind, 0, 2, 1.0, se_cents=2.0)]
    assert 0 < readings(kind, heard)[0].cents < 0.2


def test_an_outlier_is_left_out_by_name():
    reading = one(4.0, 9.0, 4.2)
    assert reading.used == (1, 3) and reading.disagreeing == 1
    assert [(left.number, left.why) for left in reading.left_out] == [(2, "4.9 cents from the takes that agree")]


def test_flags_keep_a_take_out_but_wavering_does_not():
    reading = one(4.0, (4.1, ("disagree",)), (4.2, ("wavering",)))
    assert reading.used == (1, 3) and reading.flags == ("disagree",)
    assert reading.left_out[0].why == "the meter's two ways to measure differ"


def test_no_trusted_take_gives_no_figure():
    reading = one(*[(None, ("unsteady",))] * 5)
    assert (reading.cents, reading.u95_cents, reading.used, reading.state) == (None, None, (), "give up")
    assert reading.flags == ("unsteady",) and reading.standing == 5


def test_withdrawn_takes_do_not_count():
    kind = instrument()
    heard = [take(kind, 0, number, 20.0, withdrawn=True) for number in (1, 2)]
    heard += [take(kind, 0, number, 1.0) for number in (3, 4)]
    reading = readings(kind, heard)[0]
    assert reading.cents == pytest.approx(1.0) and reading.used == (3, 4)
    assert reading.left_out[0].why.startswith("withdrawn") and reading.disagreeing == 0


def test_every_reed_has_a_reading():
    kind = instrument()
    assert sorted(readings(kind, [])) == list(range(48))
    assert readings(kind, [])[7].state == "again"


def test_order_of_takes_does_not_matter():
    kind = instrument()
    heard, _ = surveyed(kind, np.random.default_rng(3))
    mixed = list(heard)
    random.Random(1).shuffle(mixed)
    assert readings(kind, mixed) == readings(kind, heard)


def test_the_clock_is_common_and_not_averaged_away():
    kind = instrument()
    plain = readings(kind, takes(kind, {}))[0]
    clocked = readings(kind, [take(kind, r.ordinal, n, 0.0, clock_u_cents=0.5) for r in kind.reeds for n in (1, 2)])
    assert clocked[0].clock_u95_cents == pytest.approx(0.98, abs=0.01)
    assert clocked[0].u95_cents == pytest.approx(np.hypot(plain.u95_cents, 0.98), abs=0.01)


def test_take_of_another_instrument():
    twelve, sixteen = instrument(), instrument("solo-16")
    with pytest.raises(BadInput, match="reed 63, but solo-12 has the reeds 0 to 47"):
        readings(twelve, [take(sixteen, 63, 1, 0.0)])
