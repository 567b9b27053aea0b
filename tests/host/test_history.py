"""`reedbench history`: passes, settling, reeds that tire, how long things take; and strokes that were counted."""

import json
import sys
from importlib import import_module
from pathlib import Path

import numpy as np
import pytest
from jsonschema import Draft202012Validator
from record_book import LOST, TAKE_S, TIRED, RecordBook, plan_now, years
from reedbench.__main__ import run
from reedbench.hand.counting import counted_out, hand_of
from reedbench.hand.past import past_of
from reedbench.ledger import Ledger
from reedbench.plan_data import plan_as_dict
from reedbench.planning import planned
from reedbench.settling import settled
from shop import instrument as made

sys.path.append(str(Path(__file__).parents[2] / "docs"))
json_schema = import_module("json_schema")


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    monkeypatch.setenv("COLUMNS", "80")
    return RecordBook(tmp_path / "ledger.db", made("solo-12", name="the tenor", tolerance_cents=3.0))


def said(capsys, *words):
    """What `reedbench history` prints with --json, which fits its schema."""
    assert run(["history", *words, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    option = next((f" {word}" for word in words if word in ("--reed", "--shop")), "")
    fits(f"history{option}", found)
    return found


def fits(command, found):
    schema = json_schema.schema()
    Draft202012Validator({"$ref": f"#/$defs/{command}", "$defs": schema["$defs"]}).validate(found)


def test_the_past_of_an_instrument(book, capsys):
    years(book)
    found = said(capsys, book.one.key_id)
    assert [one["pass"] for one in found["surveys"]] == [0, 1, 1, 1] * 3
    assert found["surveys"][1]["good"] > found["surveys"][0]["good"] and found["surveys"][0]["unix_s"]
    done = found["stretches"][0]
    assert done["worked"] and done["raised"]["reeds"] > 5 and done["lowered"]["reeds"] > 3
    assert done["raised"]["moved_cents"] > 3 and abs(done["raised"]["past_stop_cents"]) < 1
    settled = {(one["action"], one["when"]): one for one in found["settled"]}
    night = settled["raise", "within a day"]
    assert night["reeds"] > 10 and abs(night["cents"] + 0.8) < night["u95_cents"] + 0.1
    assert abs(settled["lower", "within a day"]["cents"]) < 0.3
    assert abs(settled["raise", "within two weeks"]["cents"]) < 0.3
    years_between = found["stretches"][3]
    assert years_between["days"] > 340 and years_between["common_cents"] == pytest.approx(0.7, abs=0.3)
    assert found["repeats_cents"] < 0.6


@pytest.mark.parametrize("shops", [100, pytest.param(1000, marks=pytest.mark.exhaustive)])
def test_what_is_said_of_settling_covers_the_truth(shops):
    """Few or many reeds, which scatter as they like, of a shop whose reeds settle as they like."""
    rng = np.random.default_rng(shops)
    hits = []
    for _ in range(shops):
        for count in (1, 2, 4, 8, 30):
            true = rng.normal(0, 0.8)
            found = settled("raise", "later", list(true + rng.normal(0, rng.uniform(0.3, 0.9), count)))
            hits.append(abs(found.cents - true) <= found.u95_cents)
    print(f"{100 * np.mean(hits):.1f} %")
    assert 0.93 <= np.mean(hits) <= (0.97 if shops == 1000 else 0.99)


def test_a_reed_that_tires_is_named_and_no_other(book, capsys):
    years(book, jobs=4)
    found = said(capsys)["tiring"]
    assert [one["ordinal"] for one in found] == [TIRED]
    assert found[0]["lost_cents"] == pytest.approx(3 * LOST, abs=2.5) and found[0]["years"] > 2.7
    assert run(["history"]) == 0
    assert f"{book.one.reeds[TIRED].label}: sank" in capsys.readouterr().out


def test_what_a_reed_lost_at_once_is_no_sign_of_tiring(book, capsys):
    years(book)
    book.cents[20] -= 9
    book.survey(days=100)
    book.survey(days=100)
    assert [one["ordinal"] for one in said(capsys)["tiring"]] == [TIRED]


def test_time_is_estimated_from_the_shops_own_record(book, capsys):
    years(book)
    found = said(capsys)
    assert found["survey_per_reed"]["seconds"] == pytest.approx(2 * TAKE_S, rel=0.05)
    assert found["work_per_reed"]["seconds"] == pytest.approx(180, rel=0.1)
    moved = sum(item.zone is not None for item in plan_now(book).items)
    assert (found["estimate"] is not None) == bool(moved)
    if moved:
        assert found["estimate"]["seconds"] == pytest.approx(moved * (180 + 2 * TAKE_S), rel=0.1)


def test_the_shop_knows_its_hand_and_the_plan_tells_strokes(book, capsys):
    book.survey()
    assert all(item.strokes is None for item in plan_now(book).items)
    years(book)
    shop = said(capsys, "--shop")
    assert shop["instruments"] == 1 and {one["action"] for one in shop["strokes"]} == {"raise", "lower"}
    for one in shop["strokes"]:
        assert one["least_cents"] < (1.0 if one["action"] == "raise" else 3.0) < one["most_cents"]
    book.cents = np.random.default_rng(9).normal(0, 7, len(book.cents))
    book.survey(days=300)
    with Ledger.open(book.path) as ledger:
        plan = counted_out(planned(ledger, None)[1], hand_of(ledger))
    told = [item for item in plan.items if item.strokes]
    assert len(told) > 10
    for item in told:
        true = abs(item.stop_cents - item.reading.cents) / (1 if item.action == "raise" else 3)
        assert item.strokes.fewest - 1 <= true <= item.strokes.most + 1
    assert run(["plan"]) == 0
    out = capsys.readouterr().out
    for words in ([], ["--why", "3"], ["--why", str(told[0].reed.ordinal)], ["--reference"]):
        assert run(["plan", *words, "--json"]) == 0
        fits(f"plan {words[0]}" if words else "plan", json.loads(capsys.readouterr().out))
    assert "light strokes (" in " ".join(out.split()) and all(len(line) <= 80 for line in out.splitlines())


def test_one_reed_over_the_years(book, capsys):
    years(book, jobs=2)
    label = book.one.reeds[TIRED].label
    found = said(capsys, "--reed", label)
    assert found["reed"] == label and len(found["readings"]) == 8
    assert all(one["takes_used"] == [1, 2] for one in found["readings"])
    assert run(["history", "--reed", label]) == 0
    assert label in capsys.readouterr().out


@pytest.mark.parametrize("words", [[], ["--shop"], ["--reed", "8"], ["--reed", "11"], ["--reed", "3"]])
def test_it_is_readable_in_80_columns(book, capsys, words):
    years(book)
    assert run(["history", *words]) == 0
    out = capsys.readouterr().out
    print(out)
    assert max(map(len, out.splitlines())) <= 80 and "\x1b" not in out


def test_undated_and_single_surveys_are_no_trouble(book, capsys):
    book.survey()
    found = said(capsys)
    assert found["stretches"] == [] and found["estimate"] is None and found["repeats_cents"] is None
    assert said(capsys, "--shop")["strokes"] == []


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (["--shop", "--reed", "3"], "--shop is about all instruments"),
        (["00000000000000ff"], "there is no instrument 00000000000000ff"),
        (["--reed", "99 draw"], "solo-12 has no reed"),
        (["--state", "plucked"], "was never sounded in the state"),
    ],
)
def test_what_cannot_be_told_is_refused_in_one_line(book, capsys, words, why):
    book.survey()
    assert run(["history", *words]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and why in err


def test_an_instrument_without_surveys(book, capsys):
    assert run(["history", book.one.key_id]) == 2
    assert "there is no survey of instrument" in capsys.readouterr().err


def test_strokes_come_from_a_table(book, capsys, tmp_path):
    number = book.survey()
    item = next(item for item in plan_now(book).items if item.zone)
    good = next(item for item in plan_now(book).items if item.action == "leave")
    reed = item.reed
    head = "place,breath,slide,action,strokes\n"
    file = tmp_path / "counted.csv"
    file.write_text(head + f"{reed.place},{reed.breath},{reed.slide},,6\n1,blow,out,raise,\n")
    assert run(["survey", "strokes", str(number), str(file), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["reeds"], found["strokes"]) == (1, 6)
    with Ledger.open(book.path) as ledger:
        assert ledger.strokes(number) == {(reed.ordinal, item.action): 6}
    file.write_text(head + f"{reed.place},{reed.breath},{reed.slide},,9\n")
    assert run(["survey", "strokes", str(number), str(file)]) == 0
    with Ledger.open(book.path) as ledger:
        assert ledger.strokes(number) == {(reed.ordinal, item.action): 9}
    capsys.readouterr()
    for line, why in (
        (f"{good.reed.place},{good.reed.breath},{good.reed.slide},,4", "the plan does not move"),
        (f"{reed.place},{reed.breath},{reed.slide},,0", 'strokes is "0"; it must be a number'),
        ("99,blow,out,,4", "has no reed"),
    ):
        file.write_text(head + line + "\n")
        assert run(["survey", "strokes", str(number), str(file)]) == 2
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and why in err
    file.write_text("place,breath,slide\n1,blow,out\n")
    assert run(["survey", "strokes", str(number), str(file)]) == 2
    assert "there must be a column strokes" in capsys.readouterr().err


def test_a_past_that_is_planned_in_one_go_is_what_each_survey_was_planned_as(tmp_path):
    book = RecordBook(tmp_path / "ledger.db", made("solo-16", tolerance_cents=3.0))
    years(book, jobs=10)
    with Ledger.open(book.path) as ledger:
        past = past_of(ledger, book.one.key_id)
        assert len(past.chapters) == 40
        for chapter in past.chapters[::7]:
            again = past_of(ledger, book.one.key_id, until=chapter.survey).chapters[-1]
            assert plan_as_dict(chapter.plan) == plan_as_dict(again.plan)
