"""Settling from a shop's own record to its plans: what to aim at, how long to wait; nothing counted twice."""

import numpy as np
import pytest
from record_book import RecordBook, plan_now, years
from reedbench.__main__ import run
from reedbench.hand.settled import SettlingRecord
from reedbench.heard import Heard
from reedbench.ledger import Ledger
from reedbench.plan import STOP_SHORT_CENTS
from reedbench.planning import planned
from settling_shop import LAWS, TOLERANCE, SettlingShop
from shop import instrument as made

FALLS = 0.8  # cents that raised reeds of this shop fall over night: record_book.years


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    monkeypatch.setenv("COLUMNS", "80")
    return RecordBook(tmp_path / "ledger.db", made("solo-12", tolerance_cents=3.0))


def out_of_tune(book):
    book.cents = np.random.default_rng(7).normal(0, 4, len(book.cents))
    return book.survey(days=300)


def fine_raises(plan):
    return [item for item in plan.items if item.action == "raise" and item.work_pass == "fine"]


def test_nothing_is_assumed_before_it_is_known(book, capsys):
    out_of_tune(book)
    plan = plan_now(book)
    assert plan.settles == () and all(item.left_to_settle_cents == 0 for item in fine_raises(plan))
    assert run(["plan"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "wait until the next day" in out and "a week later where time allows" in out
    assert "moved by themselves" not in out


def test_raised_reeds_end_where_they_should_once_they_have_settled(book, capsys):
    years(book, jobs=4)
    out_of_tune(book)
    before = plan_now(book)
    assert len(fine_raises(before)) > 6
    for item in fine_raises(before):
        assert item.left_to_settle_cents == pytest.approx(-FALLS, abs=0.25)
    up = [item.reed.ordinal for item in before.items if item.action == "raise"]
    fine = [item.reed.ordinal for item in fine_raises(before)]
    book.work(before.items)
    book.cents[up] -= FALLS
    book.survey(1, days=0.7)
    assert -STOP_SHORT_CENTS < np.mean(book.cents[fine]) < 0.1  # without it they would lie below
    after = plan_now(book)
    for item in fine_raises(after):  # what the night did is seen in the last pass, and counted there alone
        assert item.left_to_settle_cents == pytest.approx(-FALLS, abs=0.35)
    assert after.back["raise"].reeds > 6 and after.back["raise"].later == ()
    capsys.readouterr()
    assert run(["plan", "1"]) == 0
    assert "moved by themselves" not in capsys.readouterr().out  # nobody knew then
    assert run(["plan", str(before_number(book)), "--why", str(fine[0])]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "within a day, as" in out and "raised reeds of this shop did" in out


def before_number(book):
    with Ledger.open(book.path) as ledger:
        return ledger.survey(None).number - 1


def test_the_wait_before_a_survey_is_the_shops_own(book, capsys):
    years(book, jobs=5)
    out_of_tune(book)
    assert run(["plan"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "wait until the next day, then survey" in out
    assert "From a survey to one within a day this shop's worked reeds moved by themselves: raised ones \u22120." in out
    assert "assembled; you need not wait for that." in out


def test_a_plan_made_again_knows_what_was_known_then(book):
    """What was learned later does not change where the pass of an earlier plan was to stop."""
    years(book, jobs=1)
    number = out_of_tune(book)
    with Ledger.open(book.path) as ledger:
        first = [item.stop_cents for item in planned(ledger, number)[1].items]
    years(book, jobs=2)
    with Ledger.open(book.path) as ledger:
        assert [item.stop_cents for item in planned(ledger, number)[1].items] == first
        record = SettlingRecord(Heard(ledger))
        assert sum(one.reeds for one in record.known()) > sum(one.reeds for one in record.known(ledger.survey(number)))


def test_where_hardly_any_reed_was_left_alone_nothing_is_learned(book):
    """A warmer room moves all reeds; with none that was left alone nobody can tell that from settling."""
    book.cents[:] = -9.0
    book.survey()
    book.work(plan_now(book).items)
    book.survey(1)
    book.cents -= 1.0
    book.survey(1, days=0.7)
    with Ledger.open(book.path) as ledger:
        assert SettlingRecord(Heard(ledger)).known() == []


@pytest.mark.parametrize(
    ("shops", "low", "high"),
    [(60, 0.88, 0.99), pytest.param(1000, 0.93, 0.97, marks=pytest.mark.exhaustive)],
)
def test_what_is_learned_of_hours_and_days_covers_the_truth(shops, low, high):
    """Shops whose reeds settle by known laws, from the readings of one to three instruments; the room moves too."""
    kind = made("solo-12", tolerance_cents=TOLERANCE)
    hits, widths = {law: [] for law in LAWS}, {law: [] for law in LAWS}
    for number in range(shops):
        rng = np.random.default_rng((shops, number))
        shop = SettlingShop(kind, rng)
        for law, one in shop.learned(int(rng.integers(1, 4))).items():
            hits[law].append(abs(one.cents - shop.laws[law]) <= one.u95_cents)
            widths[law].append(one.u95_cents)
    for law in LAWS:
        print(f"{law}: {100 * np.mean(hits[law]):.1f} % of {len(hits[law])}, within {np.median(widths[law]):.2f} cents")
        assert len(hits[law]) > 0.9 * shops and np.mean(hits[law]) >= low and np.median(widths[law]) < 0.6
    assert low <= np.mean(np.concatenate([*hits.values()])) <= high
