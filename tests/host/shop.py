"""A shop for tests: instruments, and surveys of them whose true errors are known."""

import json

import numpy as np
from reedbench import layouts
from reedbench.__main__ import run
from reedbench.firmware.wire import agree
from reedbench.instrument import Instrument, TuningOrder
from reedbench.reading import Take
from reedbench.tuning import raised


def instrument(layout="solo-12", name="Bench tenor", key="C", slide="cross", first_plate="upper", **order):
    kind = layouts.load(layout)
    last = kind.last_hole[0][0] if kind.last_hole else ""
    slide, first_plate = (slide, first_plate) if kind.has_slide else ("", "")
    return Instrument("00000000000000aa", name, kind, key, slide, first_plate, last, TuningOrder(**order))


def take(instrument, ordinal, number, cents, flags=(), **more):
    """A take of a reed that reads `cents` from its target; None for a take without a figure."""
    hz = None if cents is None else raised(instrument.reeds[ordinal].target_hz, cents)
    more.setdefault("sequence", ordinal * 10 + number)
    more.setdefault("se_cents", 0.05)
    return Take(ordinal, number, hz=hz, flags=flags, **more)


def takes(instrument, errors):
    """Two takes of each reed that read its error exactly. `errors`: cents by ordinal, 0 where missing."""
    return [
        take(instrument, reed.ordinal, number, errors.get(reed.ordinal, 0.0))
        for reed in instrument.reeds
        for number in (1, 2)
    ]


def surveyed(instrument, rng, scatter=0.35, outliers=0.03, error=8.0, clock=0.0, se=0.05):
    """(takes, true cents by ordinal) of a survey that takes each reed as often as the meter would."""
    heard = []
    truth = {}
    offset = rng.normal(0, clock) if clock else 0.0
    for reed in instrument.reeds:
        truth[reed.ordinal] = rng.normal(0, error)
        points = []
        while agree.verdict(points) == "again":
            cents = truth[reed.ordinal] + offset + rng.normal(0, np.hypot(scatter, se))
            if rng.random() < outliers:
                cents += rng.choice([-1, 1]) * rng.uniform(1, 15)
            points.append((cents, se))
            heard.append(take(instrument, reed.ordinal, len(points), cents, se_cents=se, clock_u_cents=clock))
    return heard, truth


def called(capsys, *arguments):
    """(exit code, JSON or None, stderr) of a command called with --json, which says one line about itself at most."""
    code = run([*map(str, arguments), "--json"])
    out, err = capsys.readouterr()
    assert err.count("\n") <= 1
    return code, json.loads(out) if out else None, err
