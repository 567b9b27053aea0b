"""The control reed down the whole road: asked for by the real meter three times, and what the host makes of it."""

import json
import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from reedbench.desk.audio import RATE
from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Address, ReedPlayer
from reedbench.desk.scenario import Scenario
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.ledger import Ledger
from reedbench.link import converse
from reedbench.load import load
from reedbench.pull import pull
from reedbench.reading import control, readings
from reedbench.surveys import takes_of

PATIENCE_S = 60
CENTS_PER_MINUTE = 3.0
pytestmark = pytest.mark.usefixtures("micropython_program")


class Warming(ReedPlayer):
    """All reeds rise from the moment that the first is sounded."""

    began = now = 0
    turns: list[Address]

    def _begin(self, address: Address, count: int) -> None:
        self.turns = getattr(self, "turns", [])
        self.began = self.began or count
        self.now = count
        if not self.turns or self.turns[-1] != address:
            self.turns.append(address)
        super()._begin(address, count)

    def _steady_hz(self, reed: InstrumentReed) -> float:
        return super()._steady_hz(reed) * 2 ** (CENTS_PER_MINUTE * (self.now - self.began) / RATE / 60 / 1200)


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    values = {
        "reedbench": "instrument",
        "version": 1,
        "key_id": f"{77:016x}",
        "name": "Ten holes",
        "layout": "richter-10",
    }
    instrument = Instrument.from_dict(values | {"key": "C", "order": {"reference_hz": 442.0, "tolerance_cents": 2.0}})
    errors = np.random.default_rng(7).normal(0, 3, len(instrument.reeds))
    return Scenario(7, instrument, tuple(float(one) for one in errors), {})


def test_three_soundings_of_one_reed_tell_how_far_all_moved(
    scenario: Scenario, tmp_path: Path, reedbench: Callable[..., subprocess.CompletedProcess[str]]
) -> None:
    player = Warming(scenario)
    kind = scenario.instrument
    path = tmp_path / "l.db"
    with DeskMeter(player) as meter, Ledger.open(path, write=True) as ledger:
        ledger.keep_instrument(kind.key_id, kind.name, kind.layout.id, kind.to_dict())
        with converse(meter.port, ledger.identity) as talk:
            first = kind.sounding_order()[0]
            assert load(talk.link, kind, "assembled", 0, control=first) == len(kind.reeds)
            until = time.monotonic() + PATIENCE_S
            while (status := talk.link.request("status"))["doing"] != "surveyed":
                assert time.monotonic() < until, status
                time.sleep(0.05)
            assert status["done"] == status["of"] == len(kind.reeds) + 2
        with converse(meter.port, ledger.identity) as talk:
            (number,) = pull(talk, ledger).kept.surveys
        survey = ledger.survey(number)
        takes = takes_of(ledger, survey)
    assert (survey.reeds, survey.ended) == (len(kind.reeds), True)
    address = player.turns[0]
    assert [n for n, turn in enumerate(player.turns) if turn == address] == [
        0,
        len(kind.reeds) // 2,
        len(kind.reeds) + 1,
    ]
    assert {take.role for take in takes if take.ordinal == first} == {0, 1, 2}
    assert {take.role for take in takes if take.ordinal != first} == {0}

    found = control(kind, takes)
    assert found and abs(found.cents - CENTS_PER_MINUTE * found.minutes) <= found.u95_cents
    read = readings(kind, takes)
    mean = CENTS_PER_MINUTE * (np.mean(found.times) - found.sounded[0].up_s) / 60
    inside = [abs(one.cents - scenario.hidden_cents[n] - mean) <= one.u95_cents for n, one in read.items() if one.cents]
    assert sum(inside) >= 0.85 * len(kind.reeds)

    shown = json.loads(reedbench("survey", "show", "--json", "--ledger", path).stdout)
    assert shown["control"]["moved_cents"] == pytest.approx(found.cents)
    assert [one["control"] for one in shown["takes"]] == [one.role for one in takes]
    assert "Control reed 1 blow: it rose by" in reedbench("survey", "show", "--ledger", path).stdout
