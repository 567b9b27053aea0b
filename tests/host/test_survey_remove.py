"""`reedbench survey remove`: out of sight, never pulled again, and brought back."""

import pytest
from reedbench.ledger import Ledger, tending
from shop import called
from test_host_ledger import SENDER, survey, take


@pytest.fixture
def two_surveys(ledger):
    with Ledger.open(ledger, write=True) as opened:
        opened.keep(SENDER, [survey(0), take(1, 5, 1), survey(2), take(3, 6, 1, survey=2)])
    return ledger


def said(capsys, *line):
    """(exit code, JSON or what went wrong)."""
    code, told, err = called(capsys, *line)
    return code, told or err


def numbers(capsys):
    return [one["survey"] for one in said(capsys, "survey", "list")[1]["surveys"]]


def test_a_removed_survey_is_in_no_list_and_comes_back(capsys, two_surveys):
    code, told = said(capsys, "survey", "remove", 2, "--yes")
    assert code == 0 and told["removed"] and told["survey"]["survey"] == 2
    assert numbers(capsys) == [1]
    assert said(capsys, "survey", "show")[1]["survey"]["survey"] == 1, "the last one is now the one before"
    assert said(capsys, "survey", "show", 2) == (
        2,
        "reedbench: there is no survey 2 in the ledger: see `reedbench survey list`\n",
    )
    assert tending.check(two_surveys).faults == () and tending.check(two_surveys).takes == 2
    assert said(capsys, "survey", "remove", 2, "--undo")[0] == 0 and numbers(capsys) == [1, 2]
    code, why = said(capsys, "survey", "remove", 2, "--undo")
    assert code == 2 and "no survey 2 was removed" in why


def test_it_asks_first(capsys, two_surveys):
    code, why = said(capsys, "survey", "remove", 2)
    assert code == 2 and "Remove survey 2 of 2023-11-14, the tenor, 1 takes?" in why and "--yes" in why
    assert numbers(capsys) == [1, 2]


def test_what_was_removed_is_not_pulled_again_and_its_number_is_not_given_again(capsys, two_surveys):
    assert said(capsys, "survey", "remove", 2, "--yes")[0] == 0
    with Ledger.open(two_surveys, write=True) as ledger:
        assert ledger.next_sequence(SENDER.serial, SENDER.epoch) == 4
        kept = ledger.keep(SENDER, [survey(2), take(3, 6, 1, survey=2), take(4, 7, 1, survey=2), survey(5)])
        assert (kept.records, kept.surveys) == (2, (3,)), "a take of the removed one stays out of sight with it"
    assert numbers(capsys) == [1, 3]


def test_importing_a_removed_file_again_brings_it_back(capsys, tmp_path, two_surveys):
    assert said(capsys, "instrument", "new", tmp_path / "i.json", "--name", "i", "--layout", "solo-8")[0] == 0
    (tmp_path / "r.csv").write_text("place,breath,slide,cents,u95_cents\n1,blow,out,-3,1\n")
    line = ("import", tmp_path / "r.csv", "--instrument", tmp_path / "i.json")
    assert said(capsys, *line)[1]["new"]
    assert said(capsys, "survey", "remove", 3, "--yes")[0] == 0
    again = said(capsys, *line)[1]
    assert (again["new"], again["survey"]["survey"]) == (True, 3) and numbers(capsys) == [1, 2, 3]
    assert not said(capsys, *line)[1]["new"]
