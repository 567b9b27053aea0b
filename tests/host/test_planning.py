"""From the ledger's surveys to a plan: what earlier ones say, what is asked about it, and how long it takes."""

import json
import time

import numpy as np
import pytest
from book import Book, all_at
from reedbench.__main__ import run
from reedbench.ledger import Ledger
from reedbench.planning import planned
from reedbench.tuning import raised
from shop import instrument as made

REFUSED = [
    (["--why", "99 draw"], "solo-12 has no reed"),
    (["--why", ""], "name it as the plan does"),
    (["--why", "\x1b[31m"], "or by its ordinal, 0 to 47"),
    (["--reference", "12"], "is no range of A"),
    (["--reference", "443-438"], "its lower end first"),
    (["--reference", "1-9999"], "392 to 470 Hz at most"),
    (["--reference", "--why", "3"], "exclude each other"),
    (["--together", "--why", "3"], "exclude each other"),
]


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    return Book(tmp_path / "ledger.db", made(tolerance_cents=3.0))


def test_a_reed_flatter_after_a_raise_is_looked_at(book):
    book.survey(all_at(0.0, reed4=-6.0, reed13=-6.0))
    book.survey(all_at(0.0, reed4=-9.0, reed13=-1.0), pass_number=1)
    items = book.plan()
    assert items[4].action == "inspect" and "after it was to be raised" in items[4].why
    assert items[13].verdict == "good"
    assert book.plan(1)[4].action == "raise"  # what came later does not change the plan of an earlier survey


def test_without_a_pass_between_nothing_was_worked(book):
    book.survey(all_at(0.0, reed4=-6.0))
    book.survey(all_at(0.0, reed4=-9.0))
    assert book.plan()[4].action == "raise"


def test_a_reed_that_left_its_accepted_reading_is_looked_at_once(book):
    book.survey(all_at(0.0))
    book.survey(all_at(0.0, reed0=-19.0))
    assert "last accepted reading" in book.plan()[0].why
    book.survey(all_at(0.0, reed0=-19.2))
    assert book.plan()[0].action == "raise"  # looked at, and still there: it is out of tune and no more


def test_good_reeds_need_not_be_sounded_again(book):
    book.survey(all_at(0.2, reed0=-6.0, reed4=2.9))
    book.survey({0: -0.5}, pass_number=1)
    items = book.plan()
    assert items[0].verdict == "good" and items[0].reading.used == (1, 2)
    assert items[4].action == "sound again" and items[4].reading.cents is None  # it was not good
    assert items[5].action == "leave" and "not sounded since" in items[5].why
    assert items[5].reading.cents == pytest.approx(0.2, abs=0.01)


def test_takes_of_a_survey_that_goes_on_are_put_together(book):
    """Reed 4 straddles the tolerance: two more takes of the same day join its first two. What is not sounded then
    stands on what it had, off or good."""
    book.survey(all_at(0.2, reed4=2.9, reed13=-8.0, reed20=9.0))
    first = book.plan()
    assert first[4].action == "sound again" and 1 <= first[4].more_takes <= 4
    book.survey({4: 2.8, 20: 9.0})
    items = book.plan()
    assert items[4].reading.takes_words == "takes 1, 2 of survey 1 and takes 1, 2" and items[
        4
    ].reading.cents == pytest.approx(2.85, abs=0.02)
    assert items[4].reading.u95_cents < first[4].reading.u95_cents
    assert items[13].action == "raise" and items[13].reading.takes_words == "takes 1, 2 of survey 1"
    assert items[20].reading.used == (1, 2) and items[5].verdict == "good"  # 20 was decided: its new takes alone count
    assert "goes on with survey 1" in book.said()[0]
    book.survey({4: 2.65}, pass_number=1)
    assert book.plan()[4].reading.used == (1, 2) and not any("goes on" in said for said in book.said())


def test_takes_of_another_day_are_not(book):
    book.survey(all_at(0.2, reed4=2.9))
    book.next += 90_000  # seconds
    book.survey({4: 2.65})
    assert book.plan()[4].reading.used == (1, 2)


def test_stops_leave_to_settling_what_the_last_pass_showed(book):
    low = {f"reed{n}": -8.0 for n in (0, 1, 2, 3, 4, 7, 8, 9)}
    book.survey(all_at(0.0, **low))
    stop = book.plan()[0].stop_cents
    book.survey(all_at(0.0, **dict.fromkeys(low, stop + 1.0), reed13=-7.0), pass_number=1)
    item = book.plan()[13]
    assert item.left_to_settle_cents == pytest.approx(8 / 11, abs=0.02)
    assert item.stop_cents == pytest.approx(stop - 8 / 11, abs=0.05)


def test_a_plan_of_the_assembled_instrument_says_where_to_stop_on_the_bench(book, capsys):
    """Every reed reads 4 cents higher assembled; to stop at s assembled it must read about s - 4 on the bench."""
    book.survey(all_at(-4.0, reed4=-12.0))
    book.survey(all_at(0.0, reed4=-8.0), state="assembled")
    item = book.plan()[4]
    assert item.offset.learned == "reed" and item.offset.cents == pytest.approx(4.0, abs=0.3)
    assert item.bench_stop_cents == pytest.approx(item.stop_cents - item.offset.cents)
    sheet = book.path.parent / "sheet.html"
    for line in (["plan"], ["plan", "--why", "4"], ["sheet", "--out", str(sheet)]):
        assert run(line) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "rivet" not in out and ", on the bench \u22124." in out and "read in both states" in out
    assert "on the bench \u22124." in sheet.read_text(encoding="utf-8")
    assert book.plan(1)[4].bench_stop_cents is None  # nobody knew then
    book.survey(all_at(0.0, reed4=-8.0), state="assembled, bellows")
    assert book.plan()[4].bench_stop_cents is None  # the wind is another


def test_a_plan_made_on_the_bench_allows_for_the_difference(book, capsys):
    """Reeds that read 4 cents higher assembled are right on the bench at -4, and were not before that was known."""
    book.survey(all_at(-4.0, reed4=-12.0))
    assert book.plan()[5].action == "raise" and "is not known" in book.said()[0]
    book.survey(all_at(0.0, reed4=-8.0), state="assembled")
    book.survey(all_at(-4.0, reed4=-12.0))
    items = book.plan()
    assert items[5].verdict == "good" and items[5].reading.cents == pytest.approx(0.0, abs=0.1)
    assert items[4].move_cents == pytest.approx(8.0, abs=0.2)
    assert items[4].bench_stop_cents == pytest.approx(items[4].stop_cents - 4.0, abs=0.2)
    assert items[4].reed.target_hz == pytest.approx(raised(book.one.reeds[4].target_hz, -4.0), abs=0.05)
    assert items[5].reading.u95_cents > book.plan(1)[5].reading.u95_cents
    assert "what surveys 3 and 2 differ" in book.said()[0]
    assert run(["plan", "3"]) == 0
    assert "on the bench \u22124." in " ".join(capsys.readouterr().out.split())
    assert book.plan(1)[5].action == "raise"  # as it was told then
    book.survey(all_at(-4.0, reed4=items[4].bench_stop_cents), pass_number=1)
    assert {item.verdict for item in book.plan().values()} == {"good"}


def test_surveys_more_than_a_week_apart_tell_no_difference(book):
    book.survey(all_at(-4.0))
    book.next += 8 * 86_400  # seconds
    book.survey(all_at(0.0), state="assembled")
    assert book.plan()[4].bench_stop_cents is None and book.plan()[4].offset is None


def test_the_newest_survey_is_planned_and_not_what_came_last(book, tmp_path):
    book.survey(all_at(0.0))
    (tmp_path / "old.csv").write_text("ordinal,cents,date\n4,-9,2019-04-01\n")
    (tmp_path / "one.json").write_text(json.dumps(book.one.to_dict()))
    words = ["import", str(tmp_path / "old.csv"), "--instrument", str(tmp_path / "one.json"), "--u95-cents", "1"]
    assert run(words) == 0
    assert book.plan()[4].verdict == "good" and book.plan(2)[4].action == "raise"
    book.survey({n: 0.0 for n in range(48) if n != 4})
    with Ledger.open(book.path) as ledger:
        assert ledger.survey(None).number == 3


@pytest.mark.parametrize("name", ["2 blow, slide out", " 2  BLOW slide out", "4"])
def test_why_tells_every_number_of_a_reed(book, capsys, name):
    book.survey(all_at(0.0, reed4=12.0), state="assembled")
    assert run(["plan", "--why", name]) == 0
    out = capsys.readouterr().out
    for said in (
        "E4",
        "+12.0 ±",
        "it stands on takes 1, 2",
        "at least, outside 3",
        "near the rivet",
        "+2.4: 2.4 short",
    ):
        assert said in out
    assert "% of the tongue's own" in out and "octave with" in out
    assert run(["plan", "--why", name, "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert (found["reed"]["ordinal"], found["reed"]["stop_cents"]) == (4, pytest.approx(2.4, abs=0.01))
    assert {4} <= {one["lower"] for one in found["together"]} | {one["upper"] for one in found["together"]}


def test_reference_finds_the_a_that_the_instrument_has_come_to(book, capsys):
    """Every reed 8 cents flat of 440: it agrees with itself at 440 x 2^(-8/1200) = 437.97."""
    book.survey(all_at(-8.0))
    for asked, least in (([], 438.0), (["438.5-440"], 438.5)):
        assert run(["plan", "--reference", *asked, "--json"]) == 0
        found = json.loads(capsys.readouterr().out)
        assert found["ordered"]["off"] == 48 and found["least"]["reference_hz"] == least
        assert found["own"]["reference_hz"] == 438.0 and found["own"]["off"] == 0
        assert run(["plan", "--reference", *asked]) == 0
        assert f"Least work in this range: A = {least:g} Hz" in " ".join(capsys.readouterr().out.split())


def test_why_tells_of_mass_and_of_other_work(book, capsys):
    """All reeds 60 cents high: mass, (2^(60/600) - 1) / 4 = 1.8 % of the tongue's own. One that lies apart: jobs."""
    book.survey(all_at(60.0, reed9=-40.0))
    for reed, said in (("4", "mass on its tip, about 1.8 % of the tongue"), ("9", "clean it and its slot; tighten")):
        assert run(["plan", "--why", reed]) == 0
        assert said in " ".join(capsys.readouterr().out.split())


def test_all_that_sounds_together_can_be_listed(book, capsys):
    """E4 12 cents high: 4 of it less 5 of C4 is how fast their third beats, wanted 10.4 (Teki et al., 2012)."""
    book.survey(all_at(0.0, reed4=12.0))
    assert run(["plan", "--together"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert max(map(len, lines)) <= 80
    (third,) = (line for line in lines if line.startswith("1 blow, slide out with 2 blow, slide out"))
    high, low = 329.6276 * 2 ** (12 / 1200), 261.6256
    assert third.split()[-5:-1] == ["major", "third", f"{4 * high - 5 * low:.1f}", "10.4"]
    heads = [line.partition(",")[0] for line in lines if "beats a second" in line]
    assert heads == ["IN ONE BREATH", "ONE AFTER THE OTHER"]
    assert run(["plan", "--together", "--json"]) == 0
    names = {one["interval"] for one in json.loads(capsys.readouterr().out)["together"]}
    assert {"octave", "unison", "fifth", "minor third"} <= names


@pytest.mark.parametrize(("words", "said"), REFUSED)
def test_what_cannot_be_answered_is_refused_in_one_line(book, capsys, words, said):
    book.survey(all_at(0.0))
    assert run(["plan", *words]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and said in err and "\x1b" not in err


def test_the_time_for_a_plan_grows_no_faster_than_the_number_of_surveys(tmp_path):
    """11 surveys beside 2 in the same run, as no computer is as fast as another. With their square it would be 30."""
    spent = {}
    for passes in (1, 10):
        book = Book(tmp_path / f"{passes}.db", made("solo-16"))
        for number in range(passes + 1):
            rng = np.random.default_rng(number)
            cents = {n: float(rng.normal(0, 6 - number / 2)) for n in range(64)}
            book.survey(cents, pass_number=number, scatter=0.35, seed=number)
        with Ledger.open(book.path) as ledger:
            planned(ledger, None)
            times = []
            for _ in range(5):
                start = time.process_time()
                planned(ledger, None)
                times.append(time.process_time() - start)
            spent[passes] = min(times)
    assert spent[10] < 15 * spent[1], spent
