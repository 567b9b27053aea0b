"""Pairs down the whole road: each reed alone, then both, asked for by the real meter; and the pulling that follows."""

import json
import time
from pathlib import Path

import numpy as np
import pytest
from reedbench import layouts
from reedbench.__main__ import run
from reedbench.desk import reeds
from reedbench.desk.audio import RATE, to_words
from reedbench.desk.meter import DeskMeter
from reedbench.desk.players import Address, ReedPlayer, Words
from reedbench.desk.scenario import Scenario
from reedbench.instrument import Instrument
from reedbench.link import converse
from reedbench.together import pairs_of

PATIENCE_S = 240
PULLED_CENTS = 1.5  # that each reed is drawn towards the other when both sound
pytestmark = pytest.mark.usefixtures("micropython_program")


class Pairs(ReedPlayer):
    """Plays what is called; where both are, its partner too, and they pull each other."""

    both: list[int] | None = None  # ordinals of the base reeds, once pairs are called

    def _play(self, address: Address, number: int) -> tuple[Words, reeds.Samples, str] | None:
        base = self._reeds[address]
        (partner,) = [high for low, high, _ in pairs_of(self._scenario.instrument) if low is base] or [None]
        if partner is None or self.both is None:
            return super()._play(address, number)
        self.both.append(base.ordinal)
        rng = np.random.default_rng((9, base.ordinal, number))
        breath = reeds.Breath(tone_s=1.6, level_dbfs=-26.0, scatter_cents=float(rng.normal(0, 0.2)))
        drawn = 2 ** (PULLED_CENTS / 1200)
        tones = [
            reeds.sound(hz, self._voices[reed.ordinal], breath, RATE, rng)[0]
            for reed, hz in ((base, self._steady_hz(base) * drawn), (partner, self._steady_hz(partner) / drawn))
        ]
        tone = tones[0] + tones[1]
        sounding = np.concatenate((self.room(RATE // 3), tone + self.room(len(tone)), self.room(RATE // 8)))
        return to_words(sounding), np.zeros(0), ""


@pytest.fixture(scope="module")
def scenario() -> Scenario:
    """A tremolo harmonica of four columns."""
    layout = json.loads((Path(layouts.__file__).parent / "data" / "tremolo-21.json").read_text())
    values = {"reedbench": "instrument", "version": 1, "key_id": f"{78:016x}", "name": "Tremolo", "key": "C"}
    layout |= {"id": "four", "title": "Four columns", "reeds": layout["reeds"][:4]}
    instrument = Instrument.from_dict(
        values | {"layout": layout, "order": {"reference_hz": 442.0, "tolerance_cents": 2.0}}
    )
    errors = np.random.default_rng(7).normal(0, 3, len(instrument.reeds))
    return Scenario(7, instrument, tuple(float(one) for one in errors), {})


def test_each_reed_alone_then_both_shows_how_they_pull(
    scenario: Scenario, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "l.db"))
    file = tmp_path / "tremolo.json"
    file.write_text(json.dumps(scenario.instrument.to_dict()))
    pairs = pairs_of(scenario.instrument)
    assert len(pairs) == 4

    def said(*words: str) -> str:
        assert run([*words]) == 0
        return capsys.readouterr().out

    player = Pairs(scenario)
    with DeskMeter(player) as meter:

        def surveyed(reeds: int, *more: str) -> str:
            told = said("load", str(file), "--port", meter.port, *more)
            until = time.monotonic() + PATIENCE_S
            while True:
                with converse(meter.port, "0" * 16) as talk:
                    status = talk.link.request("status")
                if status["doing"] == "surveyed":
                    break
                assert time.monotonic() < until, status
                time.sleep(0.2)
            assert status["done"] == status["of"] == reeds
            said("pull", "--port", meter.port)
            return told

        told = surveyed(8)
        assert "Mute the partner of each reed that is called" in told and "--both pairs`" in told
        player.both = []
        told = surveyed(4, "--both", "pairs")
        assert "Let both reeds" in told
    assert set(player.both) == {low.ordinal for low, _, _ in pairs}

    found = json.loads(said("plan", "1", "--together", "--json"))["pairs"]
    assert len(found) == 4
    for one, (low, high, _) in zip(found, pairs, strict=True):
        hz = [player._steady_hz(reed) for reed in (low, high)]
        drawn = 2 ** (PULLED_CENTS / 1200)
        assert one["heard_hz"] == pytest.approx(hz[1] / drawn - hz[0] * drawn, abs=max(0.1, one["u95_hz"]))
        for key, pulled in (("base", PULLED_CENTS), ("partner", -PULLED_CENTS)):
            assert abs(one[key]["pulled_cents"] - pulled) <= max(0.8, one[key]["u95_cents"])
