"""Pairs of reeds from the ledger: each alone, both together, the pulling, what to move, the curve on the sheet."""

import contextlib
import io
import json
import re

import pytest
from pair_shop import HEARD, PARTNERS, PULLED, TUNED, keep
from reedbench.__main__ import run as command
from reedbench.benchwork import work_of
from reedbench.ledger import Ledger


@pytest.fixture(scope="module")
def shop(tmp_path_factory):
    path = tmp_path_factory.mktemp("pairs") / "ledger.db"
    keep(path)
    return path


@pytest.fixture
def run(shop, capsys):
    """Function that runs a command on the ledger and returns its exit code and what it printed."""

    def call(*words):
        code = command([*map(str, words), "--ledger", str(shop)])
        return code, capsys.readouterr().out

    return call


@pytest.fixture(scope="module")
def found(shop):
    """The pairs, as `plan --together --json` prints them, each with what `together` has of the same two."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert command(["plan", "--together", "--json", "--ledger", str(shop)]) == 0
    printed = json.loads(out.getvalue())
    apart = {(one["lower"], one["upper"]): one for one in printed["together"] if one["interval"] == "pair"}
    return [one | {"apart": apart[one["base"]["ordinal"], one["partner"]["ordinal"]]} for one in printed["pairs"]]


def test_pulling_is_what_both_read_beside_what_each_reads_alone(found):
    first, second = found[:2]
    assert first["base"]["pulled_cents"] == pytest.approx(PULLED, abs=0.1)
    assert first["partner"]["pulled_cents"] == pytest.approx(-PULLED, abs=0.1)
    assert first["base"]["u95_cents"] < PULLED
    assert second["base"]["pulled_cents"] == pytest.approx(0, abs=0.1)
    assert second["heard_hz"] == pytest.approx(second["apart"]["wanted_hz"], abs=0.02)


def test_the_base_reed_is_moved_first_and_the_partner_by_the_beat(found):
    by_partner = {one["partner"]["ordinal"]: one for one in found}
    base_off, partner_off = by_partner[PARTNERS[4].ordinal], by_partner[PARTNERS[5].ordinal]
    assert base_off["move"] == PARTNERS[4].base
    assert partner_off["move"] == PARTNERS[5].ordinal
    assert partner_off["partner_to_hz"] == pytest.approx(PARTNERS[5].target_hz, abs=0.01)
    assert by_partner[PARTNERS[3].ordinal]["move"] is None


def test_a_pulled_partner_is_tuned_for_what_both_beat_together(found):
    """Alone it has to stand off by what the pulling takes from the beat."""
    first = found[0]
    lost = first["apart"]["now_hz"] - first["heard_hz"]
    assert lost > 0
    assert first["partner_to_hz"] == pytest.approx(PARTNERS[0].target_hz + lost, abs=0.02)


def test_the_plan_is_of_reeds_that_sounded_alone(run):
    assert json.loads(run("plan", "--json")[1])["survey"]["survey"] == 1
    assert run("plan", "2")[0] == 2


def test_the_bench_follows_the_survey_of_reeds_that_sounded_alone(shop):
    with Ledger.open(shop) as ledger:
        work = {values["ordinal"]: values for values in work_of(ledger, TUNED)}
    assert set(work) >= {reed.ordinal for reed in PARTNERS}, (
        "the survey of pairs, which came last, names base reeds only"
    )
    assert work[PARTNERS[5].ordinal]["last_ccent"] == pytest.approx(500, abs=2)


def test_pairs_in_words_and_takes_of_both(run):
    lines = run("plan", "--together")[1]
    assert "partner to" in lines and "base" in lines and "wanted" in lines
    assert run("survey", "show", "2")[1].count("two reeds in") == HEARD


def test_the_sheet_draws_the_curve_and_the_readings_on_it(run, tmp_path):
    page = tmp_path / "sheet.html"
    assert run("sheet", "--out", page)[0] == 0
    text = page.read_text()
    assert '<path class="curve"' in text
    assert len(re.findall('<circle class="heard"', text)) == HEARD
    assert len(re.findall('<circle class="alone"', text)) == len(PARTNERS) - HEARD
