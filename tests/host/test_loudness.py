"""Pitch against level inside takes: found where it is, claimed no surer than it is, and blind to the distance."""

import json

import numpy as np
import pytest
from book import Book
from reedbench.__main__ import run
from reedbench.loudness import slope
from shop import instrument as made

POINTS = 32
CENTS_PER_DB = -0.2


def trace(rng, kept=0.5, noise=0.1, swell=3.0):
    """One take: the level wanders and falls, the pitch follows it and has a slow noise of its own."""
    level = rng.normal(0, 0.5, POINTS).cumsum() - np.linspace(0, rng.uniform(0, swell), POINTS)
    own = [rng.normal()]
    for _ in range(POINTS - 1):
        own.append(kept * own[-1] + np.sqrt(1 - kept**2) * rng.normal())
    return CENTS_PER_DB * level + noise * np.array(own), np.round(level * 4) / 4


@pytest.mark.parametrize(("takes", "kept"), [(2, 0.0), (2, 0.5), (3, 0.8)])
def test_the_uncertainty_covers_the_truth(takes, kept):
    rng = np.random.default_rng(6)
    found = [slope(trace(rng, kept) for _ in range(takes)) for _ in range(600)]
    known = [one for one in found if one]
    assert len(known) > 200
    assert 0.92 < np.mean([abs(one.cents_per_db - CENTS_PER_DB) < one.u95_cents_per_db for one in known]) < 0.995
    assert np.median([one.u95_cents_per_db for one in known]) < 0.08


def test_the_distance_of_the_meter_says_nothing():
    """A take 20 dB louder that reads 9 cents higher has the same slope inside."""
    rng = np.random.default_rng(7)
    (near, near_db), (far, far_db) = trace(rng), trace(rng)
    found = [slope([(near, near_db), (far + cents, far_db + db)]) for cents, db in ((0, 0), (9, 20))]
    assert found[0].cents_per_db == pytest.approx(found[1].cents_per_db)
    assert found[0].u95_cents_per_db == pytest.approx(found[1].u95_cents_per_db)


def test_a_level_that_hardly_moves_and_a_single_take_say_nothing():
    rng = np.random.default_rng(8)
    even = [(rng.normal(0, 0.1, POINTS), rng.choice([-0.25, 0.0, 0.25], POINTS)) for _ in range(3)]
    assert slope(even) is None and slope([trace(rng)]) is None and slope([]) is None


def test_it_is_shown_and_never_applied(tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    book = Book(tmp_path / "ledger.db", made())
    rng = np.random.default_rng(9)
    cents, level = trace(rng)
    swelling = {
        "trace_ccent": [round(c * 100) for c in cents],
        "trace_level_qdb": [round(db * 4) for db in level],
    }
    book.survey({0: -1.0, 1: -1.0})
    book.survey({0: -1.0, 1: -1.0}, **swelling)
    assert book.plan(1)[0].reading.cents == book.plan(2)[0].reading.cents
    said = []
    for words in (["survey", "show"], ["plan", "--why", "0"]):
        assert run(words) == 0
        said.append(capsys.readouterr().out)
        assert max(map(len, said[-1].splitlines())) <= 80
        assert run([*words, "--json"]) == 0
        said.append(json.loads(capsys.readouterr().out))
    assert "1 blow, slide out: \u22120." in said[0] and "a decibel, inside its takes; not allowed for" in said[2]
    assert [one["ordinal"] for one in said[1]["slopes"]] == [0, 1]
    assert said[3]["cents_per_db"] == said[1]["slopes"][0]["cents_per_db"] == pytest.approx(CENTS_PER_DB, abs=0.1)
