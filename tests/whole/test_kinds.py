"""One instrument of each kind down the whole road: loaded, called by the screen, played, pulled, planned, printed."""

import html
import itertools
import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from reedbench import demo, layouts
from reedbench.desk.players import ReedPlayer
from reedbench.desk.scenario import Scenario
from reedbench.instrument import Instrument

KINDS = ["solo-12", "richter-10", "tremolo-24", "melodica-37", "accordion-41", "anglo-30", "harmonium-42"]
ERROR_CENTS = 3.0  # RMS of what is hidden: no reed is nearer to another note, but a pair's reeds may change places


def hidden(layout: str, seed: int) -> Scenario:
    kind = layouts.load(layout)
    values = {
        "reedbench": "instrument",
        "version": 1,
        "key_id": f"{seed:016x}",
        "name": f"A {layout}",
        "layout": layout,
        "key": "C",
        "order": {"reference_hz": 442.0, "tolerance_cents": 2.0, "drop_cents": 1.0},
    } | ({"slide": "cross", "first_plate": "lower"} if kind.has_slide else {})
    instrument = Instrument.from_dict(values)
    errors = np.random.default_rng(seed).normal(0, ERROR_CENTS, len(instrument.reeds))
    return Scenario(seed, instrument, tuple(round(float(cents), 2) for cents in errors), {})


@pytest.mark.exhaustive
@pytest.mark.parametrize("layout", KINDS)
def test_a_survey_of_every_kind(
    layout: str, tmp_path: Path, micropython_program: str, reedbench: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    scenario = hidden(layout, seed=11 + KINDS.index(layout))
    instrument = scenario.instrument
    result = demo.run(scenario, ReedPlayer(scenario), tmp_path)

    # Every reed was called in the order of the survey, plate by plate; the ledger has its takes under its number.
    called = list(dict.fromkeys(take.ordinal for take in result.takes))
    assert called == instrument.sounding_order()
    plates = [instrument.reeds[ordinal].plate for ordinal in called]
    assert list(dict.fromkeys(plates)) == list(instrument.plates)
    assert sum(a != b for a, b in itertools.pairwise(plates)) == len(instrument.plates) - 1

    # What was read is what was hidden: 95 of 100 within their uncertainty, and none is another reed's.
    items = result.plan.by_ordinal()
    off = [(items[n].reading, cents) for n, cents in enumerate(scenario.hidden_cents)]
    assert all(reading.cents is not None for reading, _ in off)
    inside = sum(abs(reading.cents - cents) <= reading.u95_cents for reading, cents in off)
    assert inside >= 0.88 * len(off)
    assert max(abs(reading.cents - cents) for reading, cents in off) < 2.5

    # The labels come back from the ledger, in words and on the sheet.
    done = reedbench("survey", "show", "--ledger", tmp_path / "ledger.sqlite")
    assert done.returncode == 0, done.stderr
    page = html.unescape(result.sheet.read_text(encoding="utf-8"))
    for item in items.values():
        assert f"\n{item.reed.label} " in done.stdout
        if item.order:
            assert f"<b>{item.reed.label}</b>" in page

    told = json.loads(reedbench("plan", "--json", "--ledger", tmp_path / "ledger.sqlite").stdout)
    pairs = [one for one in told["together"] if one["interval"] == "pair"]
    assert sorted((one["lower"], one["upper"]) for one in pairs) == sorted(
        (reed.base, reed.ordinal) for reed in instrument.reeds if reed.base is not None
    )
    for pair in pairs:
        low, high = (items[pair[name]].hz for name in ("lower", "upper"))
        assert low and high and pair["now_hz"] == pytest.approx(high - low, abs=1e-3)
