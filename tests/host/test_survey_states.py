"""A survey in several states of sounding, from records to plan, sheet and tables: never mixed, always named."""

import csv

import pytest
from book import Book
from reedbench.__main__ import run
from reedbench.errors import BadInput
from reedbench.firmware.wire import record
from reedbench.ledger import Ledger, Sender
from reedbench.surveys import in_state, other_states, takes_of
from reedbench.tuning import raised
from shop import called
from shop import instrument as made

SENDER = Sender("e6614103e7452d2f", 1, "bench", "0.1.0")
OFF, ON = "covers off", "assembled"
RISE = 6.0  # cents that every reed here reads higher assembled


def take(one, ordinal, number, state, cents, survey=0):
    values = {field: 0 for field, _ in record.TAKE} | {"survey": survey, "ordinal": ordinal, "number": number}
    values |= {"state": record.state_byte(state), "rate": 16000, "span": 12000, "se_mcent": 50}
    values |= {"uhz": round(raised(one.reeds[ordinal].target_hz, cents) * 1e6), "board_dc": record.NO_TEMPERATURE}
    return "take", values | {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32}


def redo(ordinal, survey=0):
    return "redo", {"survey": survey, "ordinal": ordinal}


def kept(path, one, entries):
    """The survey of these records, begun with the covers off, as a meter sends it."""
    survey = {field: 0 for field, _ in record.SURVEY} | {"instrument": one.key_id, "name": one.name}
    survey |= {"layout": one.layout.id, "reeds": len(one.reeds), "state": record.state_byte(OFF)}
    survey |= {"reference_mhz": 440000, "tolerance_cc": 300, "unix_s": 1_700_000_000}
    records = [record.pack(kind, n, values) for n, (kind, values) in enumerate([("survey", survey), *entries])]
    with Ledger.open(path, write=True) as ledger:
        ledger.keep_instrument(one.key_id, one.name, one.layout.id, one.to_dict())
        ledger.keep(SENDER, records)


@pytest.fixture
def ledger(ledger, tmp_path, monkeypatch):
    """All reeds with the covers off; then the first ten again assembled, where they read higher."""
    monkeypatch.chdir(tmp_path)
    one = made()
    off = [take(one, reed.ordinal, number, OFF, 0.1 * number) for reed in one.reeds for number in (1, 2)]
    on = [take(one, ordinal, number, ON, RISE + 0.1 * number) for ordinal in range(10) for number in (3, 4)]
    kept(ledger, one, off + on)
    return ledger


def said(capsys, *arguments):
    code, told, err = called(capsys, *arguments)
    assert code == 0
    return told, err


def refused(capsys, *arguments):
    assert run([*map(str, arguments)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1
    return err


def test_a_plan_stands_on_the_last_state_and_on_the_other_when_asked(capsys, ledger):
    plan, err = said(capsys, "plan")
    assert (plan["survey"]["state"], plan["survey"]["states"]) == (ON, [OFF, ON])
    assert plan["totals"]["lower"] == 10 and plan["totals"]["sound_again"] == 38
    assert "--state" in err and OFF in err and err.count("\n") == 1
    plan, err = said(capsys, "plan", "--state", OFF)
    assert (plan["survey"]["state"], plan["survey"]["states"]) == (OFF, [OFF, ON])
    assert plan["totals"]["leave"] == 0  # right on the bench, and so RISE cents too high assembled
    assert all(reed["reading_cents"] == pytest.approx(RISE, abs=0.5) for reed in plan["reeds"][:10])
    assert all(RISE / 2 < reed["reading_cents"] < RISE + 0.5 for reed in plan["reeds"])
    assert said(capsys, "plan", "--state", "covers off, mouth")[0] == plan
    assert run(["plan", "--quiet"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and out.startswith("Survey 1, ") and f": {ON}." in out.splitlines()[0]


def test_readings_of_two_states_differ_by_what_the_states_do(ledger):
    with Ledger.open(ledger) as opened:
        survey = opened.survey(None)
        assert {one.state for one in takes_of(opened, survey)} == {ON}
        assert len(takes_of(opened, in_state(survey, OFF))) == 96
        assert other_states(survey) and OFF in other_states(survey)
        with pytest.raises(BadInput, match="it has covers off; assembled"):
            in_state(survey, "plucked")


@pytest.mark.parametrize("command", [["plan"], ["sheet"], ["export", "readings"], ["export", "plan"]])
def test_a_state_that_it_does_not_have_is_refused_with_those_it_has(capsys, ledger, command):
    for state in ("plucked", "on the roof", ""):
        err = refused(capsys, *command, "--state", state)
        assert "covers off; assembled" in err


def test_lists_show_all_states_and_each_takes_own(capsys, ledger):
    listed, _ = said(capsys, "survey", "list")
    assert listed["surveys"][0]["states"] == [OFF, ON]
    shown, _ = said(capsys, "survey", "show")
    assert [one["state"] for one in shown["takes"]] == [OFF] * 96 + [ON] * 20
    assert run(["survey", "list"]) == 0
    assert f"also {OFF}" in capsys.readouterr().out
    assert run(["survey", "show"]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines.index(f"{ON}:") - lines.index(f"{OFF}:") == 96 + 2  # and the names of the columns


def test_the_sheet_names_the_state_it_is_of(capsys, ledger):
    for state in (OFF, ON):
        said(capsys, "sheet", "--state", state, "--out", "sheet.html")
        page = (ledger.parent / "sheet.html").read_text(encoding="utf-8")
        assert state in page and {OFF, ON} - {state} != {one for one in (OFF, ON) if one in page}


def test_tables_carry_the_state_that_they_stand_on(capsys, ledger):
    said(capsys, "export", "all", "--state", OFF, "--out", "tables")
    for name, states in (("readings", {OFF}), ("plan", {OFF}), ("takes", {OFF, ON})):
        with open(ledger.parent / "tables" / f"{name}.csv", encoding="utf-8", newline="") as file:
            assert {row["state"] for row in csv.DictReader(file)} == states


def test_a_redo_withdraws_only_what_was_sounded_in_its_own_state(tmp_path):
    one = made()
    path = tmp_path / "ledger.db"
    off = [take(one, 0, 1, OFF, 0.0), take(one, 0, 2, OFF, 0.1)]
    on = [take(one, 0, 3, ON, 5.0), redo(0), take(one, 0, 4, ON, 6.0), take(one, 0, 5, ON, 6.1)]
    last = [redo(0), take(one, 0, 6, OFF, 0.2), redo(0)]
    # A redo whose take is not here, cut off by the power, is taken to withdraw all there is of the reed.
    kept(path, one, off + on + last)
    with Ledger.open(path) as ledger:
        withdrawn = {one.number: one.withdrawn for one in ledger.takes(1)}
    assert withdrawn == {1: True, 2: True, 3: True, 4: True, 5: True, 6: True}
    (tmp_path / "two").mkdir()
    kept(tmp_path / "two" / "ledger.db", one, off + on + last[:2])
    with Ledger.open(tmp_path / "two" / "ledger.db") as ledger:
        withdrawn = {one.number: one.withdrawn for one in ledger.takes(1)}
        assert ledger.survey(1).states == (ON, OFF), "the one sounded in last stands last"
    assert withdrawn == {1: True, 2: True, 3: True, 4: False, 5: False, 6: False}


def test_plucked_by_an_older_meter_with_a_wind_is_plucked(tmp_path):
    """Meters have sent that state with any wind: it is one state all the same."""
    one = made()
    entries = [take(one, 0, number, OFF, 0.0) for number in (1, 2)]
    for number, (_, values) in enumerate(entries):
        values["state"] = 0x03 + 0x10 * number
    kept(tmp_path / "ledger.db", one, entries)
    with Ledger.open(tmp_path / "ledger.db") as ledger:
        survey = ledger.survey(1)
        assert survey.states == ("plucked",) and len(takes_of(ledger, survey)) == 2


def test_the_list_of_surveys_fits_a_terminal(tmp_path, monkeypatch, capsys):
    """Whatever instruments are called; what there is to remark stands below."""
    monkeypatch.setenv("REEDBENCH_LEDGER", str(tmp_path / "ledger.db"))
    book = Book(tmp_path / "ledger.db", made(name="The bandleader's own " + "x" * 59))
    book.survey({0: 0.0}, pass_number=3, state="plate on bench, suction")
    assert run(["survey", "list"]) == 0
    head, row, remark = capsys.readouterr().out.splitlines()
    assert len(row) <= 80 and "bandleader's" in row and "\u2026" in row and row.split()[2] == "3"
    assert head.split() == ["survey", "date", "pass", "instrument", "state", "takes"]
    assert remark.strip() == "not ended"
