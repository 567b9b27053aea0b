"""Temperature: warned about, and corrected only when asked (brass: -0.30 to -0.33 cent per kelvin, computed)."""

import json

import pytest
from book import Book, all_at
from reedbench.__main__ import run
from reedbench.temperature import Correction
from shop import instrument as made

COLD, WARM = 184, 221  # tenths of a degree: 3.7 K apart


@pytest.fixture
def book(tmp_path, monkeypatch):
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    return Book(tmp_path / "ledger.db", made(tolerance_cents=3.0))


@pytest.mark.parametrize(("first", "second", "word"), [(COLD, WARM, "3.7 K warmer"), (WARM, COLD, "3.7 K colder")])
def test_surveys_more_than_3_k_apart_are_warned_about(book, capsys, tmp_path, first, second, word):
    book.survey(all_at(0.0), board_dc=first)
    book.survey(all_at(0.0), board_dc=second)
    assert run(["plan"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert f"Survey 2 was made {word} than survey 1: brass reeds read about" in said
    assert ("−1.1 cents" if second == WARM else "+1.1 cents") in said  # 3.7 x 0.31 = 1.147
    assert f", {second / 10:.0f} °C." in said
    assert run(["sheet", "--out", str(tmp_path / "sheet.html")]) == 0
    assert f"{word} than survey 1" in (tmp_path / "sheet.html").read_text(encoding="utf-8")


def test_nothing_is_said_of_a_little_warmth_or_an_unknown_one(book):
    book.survey(all_at(0.0), board_dc=COLD)
    book.survey(all_at(0.0), board_dc=COLD + 29)
    book.survey(all_at(0.0))
    assert not any("K warmer" in said for number in (2, 3) for said in book.said(number))


def test_readings_are_corrected_only_when_asked(book, capsys):
    """Brass at 22.1 degrees is 0.31 x 3.7 cents lower than at 18.4; steel, said to be -0.24, less."""
    book.survey(all_at(-1.0), board_dc=WARM)
    found = {}
    for asked in ([], ["--celsius", "18.4"], ["--celsius", "18.4", "--cents-per-kelvin", "-0.24"]):
        assert run(["plan", *asked, "--json"]) == 0
        data = json.loads(capsys.readouterr().out)
        assert data["celsius"] == 22.1
        found[len(asked)] = data["reeds"][7]
    assert found[0]["reading_cents"] == pytest.approx(-1.0, abs=0.01)
    assert found[2]["reading_cents"] == pytest.approx(-1.0 + 3.7 * 0.31, abs=0.01)
    assert found[4]["reading_cents"] == pytest.approx(-1.0 + 3.7 * 0.24, abs=0.01)
    assert found[2]["u95_cents"] > found[4]["u95_cents"] > found[0]["u95_cents"]


def test_a_correction_is_for_all_surveys_alike(book):
    """Reeds that only the room moved are good still, once it is allowed for."""
    book.survey(all_at(2.3), board_dc=COLD - 60)
    book.survey({0: 2.3 - 0.31 * 9.7}, board_dc=WARM)
    asked = Correction(22.1)
    assert book.plan()[5].verdict == "good" and book.plan()[5].reading.cents == pytest.approx(2.3, abs=0.01)
    assert book.plan(correction=asked)[5].reading.cents == pytest.approx(2.3 - 0.31 * 9.7, abs=0.01)
    assert not any("K warmer" in said for said in book.said(correction=asked))
    book.survey({0: 0.0}, board_dc=WARM)
    assert any("as they would be at 22.1" in said for said in book.said(correction=asked))


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--celsius", "20"], "nobody knows how warm it was in survey 1"),
        (["--cents-per-kelvin", "-0.2"], "says nothing without --celsius"),
        (["--celsius", "nan"], "goes from -20 to 60"),
        (["--celsius", "20", "--cents-per-kelvin", "31"], "from -2 to 2"),
    ],
)
def test_what_cannot_be_corrected_is_refused_in_one_line(book, capsys, words, said):
    book.survey(all_at(0.0))
    for command in ("plan", "sheet"):
        assert run([command, *words]) == 2
        out, err = capsys.readouterr()
        assert out == "" and err.count("\n") == 1 and said in err
