"""When a reed wants looking at first: each sign, and everything that is none."""

from dataclasses import replace

import numpy as np
import pytest
from reedbench.causes import LOOK, causes
from reedbench.evidence import Earlier, Evidence, levels
from reedbench.reading import readings
from reedbench.tuning import raised
from shop import instrument, surveyed, take, takes

KIND = instrument()
OTHERS = {n: (n * 29 % 11) / 2 - 2.5 for n in range(48)}  # cents from target, as a sound instrument comes in


def read(errors, kind=KIND):
    return readings(kind, takes(kind, errors))


def hz(errors, kind=KIND):
    return {n: raised(kind.reeds[n].target_hz, cents) for n, cents in errors.items()}


def earlier(errors, actions=None, kind=KIND):
    return {n: Earlier(one, 0.5, (actions or {}).get(n, "")) for n, one in hz(errors, kind).items()}


def signs(ordinal, known):
    return [cause.sign for cause in causes(known).get(ordinal, ())]


def only(ordinal, evidence):
    """The causes of that reed, which must be the only one with any."""
    found = causes(evidence)
    assert list(found) == [ordinal]
    return found[ordinal]


def test_a_sound_instrument_has_none():
    known = Evidence(KIND, read(OTHERS), hz(OTHERS), [earlier(OTHERS)] * 3, dict.fromkeys(OTHERS, -25.0))
    assert causes(known) == {}


def test_it_left_its_own_last_reading():
    cause, *_ = only(7, Evidence(KIND, read(OTHERS | {7: OTHERS[7] - 18}), hz(OTHERS)))
    assert cause.sign == "left its last reading" and cause.look[0] == "dirt"
    assert cause.why == (
        "Reads −18.0 cents from its last accepted reading, more than the others moved: look for dirt or lint, "
        "then a loose rivet, then a crack near the rivet."
    )
    assert signs(7, Evidence(KIND, read(OTHERS | {7: OTHERS[7] + 18}), accepted=hz(OTHERS))) == [
        "left its last reading"
    ]


def test_what_all_reeds_did_is_no_sign():
    colder = {n: cents + 20 for n, cents in OTHERS.items()}
    assert causes(Evidence(KIND, read(colder), hz(OTHERS), [earlier(OTHERS)])) == {}


def test_it_left_its_neighbours():
    cause = only(7, Evidence(KIND, read(OTHERS | {7: -60.0})))[0]
    assert cause.sign == "left its neighbours" and "crack" in cause.look and "−60 cents" in cause.why
    assert only(7, Evidence(KIND, read(OTHERS | {7: 60.0})))[0].look == ("dirt", "tip")


@pytest.mark.parametrize("cents", [-100.0, -60.0, 60.0, 200.0])
def test_a_new_reference_or_key_is_none(cents):
    assert causes(Evidence(KIND, read({n: error + cents for n, error in OTHERS.items()}))) == {}


@pytest.mark.parametrize("layout", ["richter-10-natural-minor", "richter-10-harmonic-minor"])
def test_retuning_to_minor_is_none(layout):
    """An instrument in major that is to become minor: blow 2, 5, 8 and two draw reeds lie a semitone above target."""
    major, minor = instrument("richter-10"), instrument(layout)
    errors = {n: 100.0 * (major.reeds[n].midi - reed.midi) + n % 3 - 1 for n, reed in enumerate(minor.reeds)}
    assert sum(cents > 50 for cents in errors.values()) == 5
    assert causes(Evidence(minor, read(errors, minor))) == {}
    # With its last accepted readings even one reed alone may be asked for anything.
    alone = {n: float(n % 3 - 1) for n in errors} | {4: 100.0}
    assert causes(Evidence(minor, read(alone, minor), hz(alone, minor))) == {}
    assert 4 in causes(Evidence(minor, read(alone, minor)))


def test_flatter_after_a_raise():
    before = OTHERS | {7: -12.0, 8: -12.0, 9: 12.0}
    now = OTHERS | {7: -14.0, 8: -2.0, 9: 14.0}
    history = [earlier(before, {7: "raise", 8: "raise", 9: "lower"})]
    cause = only(7, Evidence(KIND, read(now), history=history))[0]
    assert cause.sign == "flatter after a raise" and cause.look[0] == "crack"
    assert "Went −2.0 ±" in cause.why


def test_no_more_than_its_uncertainty_is_no_sign():
    history = [earlier(OTHERS | {7: -12.0}, {7: "raise"})]
    assert signs(7, Evidence(KIND, read(OTHERS | {7: -12.4}), history=history)) == []


def test_it_sinks():
    falls = [OTHERS | {7: 0.0}, OTHERS | {7: -2.0}, OTHERS | {7: -3.5}]
    cause = only(7, Evidence(KIND, read(OTHERS | {7: -6.0}), history=list(map(earlier, falls))))[0]
    assert cause.sign == "sinks" and cause.look[0] == "rivet" and "Sank 6.0 cents over 4 surveys" in cause.why
    # Once is no drift; nor is what it lost because it was lowered, nor when all sank.
    assert signs(7, Evidence(KIND, read(OTHERS | {7: -6.0}), history=[earlier(falls[0])])) == []
    lowered = [earlier(falls[0]), earlier(falls[1], {7: "lower"})]
    assert signs(7, Evidence(KIND, read(OTHERS | {7: -9.0}), history=lowered)) == []
    all_sink = [earlier({n: cents - drop for n, cents in OTHERS.items()}) for drop in (0, 2, 4)]
    assert causes(Evidence(KIND, read({n: c - 6 for n, c in OTHERS.items()}), history=all_sink)) == {}


def test_it_disagrees_with_its_unison():
    doubled = [reed.ordinal for reed in KIND.reeds if reed.note == "C6"]
    cause = only(doubled[0], Evidence(KIND, read(OTHERS | {doubled[0]: -28.0})))[0]
    assert cause.sign == "disagrees with its unison" and cause.look[0] == "valve"
    assert "its unison, while other unisons agree" in cause.why
    # Where no unisons agree it is not this reed's fault.
    rng = np.random.default_rng(1)
    wild = dict(enumerate(rng.uniform(-24, 24, 48)))
    assert "disagrees with its unison" not in [
        c.sign for found in causes(Evidence(KIND, read(wild))).values() for c in found
    ]


def heard_with(*made):
    """Readings of a sound instrument whose reed 9 has these takes: cents, or a flag of a take without a figure."""
    others = [one for one in takes(KIND, OTHERS) if one.ordinal != 9]
    nine = [
        take(KIND, 9, n, None, (one,)) if isinstance(one, str) else take(KIND, 9, n, one)
        for n, one in enumerate(made, 1)
    ]
    return readings(KIND, others + nine)


def test_it_scatters():
    cause = only(9, Evidence(KIND, heard_with(0.0, 8.0, 16.0, 24.0, 0.5)))[0]
    assert cause.sign == "scatters" and "3 of 5 takes do not agree" in cause.why
    assert "No two of 5 takes agree" in only(9, Evidence(KIND, heard_with(0.0, 8.0, 16.0, 24.0, 32.0)))[0].why
    assert signs(9, Evidence(KIND, heard_with(0.0, 8.0, 0.4))) == []
    assert signs(9, Evidence(KIND, heard_with(0.0, 8.0))) == []  # not finished


@pytest.mark.parametrize(
    ("flag", "sign", "look"),
    [
        ("short", "speaks late", "gap"),
        ("weak", "speaks weak", "gap"),
        ("unsteady", "cannot be read", "gap"),
        ("disagree", "cannot be read", "dirt"),
        ("two-reeds", "cannot be read", "valve"),
    ],
)
def test_it_speaks_weak_or_late(flag, sign, look):
    cause = only(9, Evidence(KIND, heard_with(*[flag] * 5)))[0]
    assert (cause.sign, cause.look[0]) == (sign, look) and "5 of 5 takes were spoiled" in cause.why
    assert signs(9, Evidence(KIND, heard_with(flag, flag, flag, 0.0, 0.2))) == [sign]
    assert signs(9, Evidence(KIND, heard_with(flag, 0.0, 0.2))) == []


def test_what_the_meter_spoiled_is_sounded_again():
    assert only(9, Evidence(KIND, heard_with(*["clipped"] * 5)))[0].why.endswith(
        "too loud for the microphone: sound it again."
    )


def test_weaker_than_the_reeds_beside_it():
    loud = {n: -25.0 - n % 4 for n in range(48)}
    cause = only(9, Evidence(KIND, read(OTHERS), levels=loud | {9: -40.0}))[0]
    assert cause.sign == "speaks weak" and "14 dB weaker" in cause.why
    # High reeds are weaker than low ones; those beside a reed are what counts.
    assert causes(Evidence(KIND, read(OTHERS), levels={r.ordinal: -20 - r.midi / 3 for r in KIND.reeds})) == {}


def test_levels_are_of_takes_that_were_heard():
    heard = [take(KIND, 0, n, 0.0, level_dbfs=level) for n, level in enumerate((-20.0, -26.0, -24.0), 1)]
    heard += [
        take(KIND, 1, 1, None, ("short",), level_dbfs=-60.0),
        take(KIND, 1, 2, 0.0, level_dbfs=-50, withdrawn=True),
    ]
    assert levels(heard) == {0: -24.0}


def test_reeds_that_were_not_read():
    assert causes(Evidence(KIND, readings(KIND, []), hz(OTHERS), [earlier(OTHERS)])) == {}
    assert causes(Evidence(KIND, {}, {}, [{}, {}], {})) == {}


def test_few_sound_reeds_are_taken_for_faulty():
    """Worn but sound instruments, surveyed in rooms that differ: fewer than one reed in 200 is looked at."""
    kind = instrument("solo-16")
    rng = np.random.default_rng(12)
    looked = 0
    for _ in range(20):
        truth = rng.normal(-1, 3, 64) + (rng.random(64) < 0.2) * rng.normal(-7, 5, 64)
        past = [
            earlier(dict(enumerate(truth + rng.normal(0, 3) + rng.normal(0, 0.3, 64))), kind=kind) for _ in range(3)
        ]
        heard, _ = surveyed(kind, rng, error=0)
        now = readings(kind, [replace(one, hz=raised(one.hz, truth[one.ordinal])) for one in heard])
        loud = {n: float(rng.normal(-25, 2)) for n in range(64)}
        looked += len(causes(Evidence(kind, now, {n: one.hz for n, one in past[0].items()}, past, loud)))
    assert looked / (20 * 64) < 0.005


def test_all_there_is_to_look_at_has_words():
    found = causes(Evidence(KIND, heard_with(*["unsteady"] * 5)))
    assert all(what in LOOK for one in found.values() for cause in one for what in cause.look)
