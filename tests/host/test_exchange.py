"""Readings out to CSV and in again, and tables that are not what they should be."""

import csv
import io
import json
import time

import numpy as np
import pytest
from reedbench.__main__ import run
from reedbench.exchange import guarded, unguarded
from reedbench.exporting import TABLES
from reedbench.firmware.wire import record
from reedbench.importing import CELL_MOST, LONGEST_BYTES, ROWS_MOST
from reedbench.ledger import Ledger, Sender
from shop import called, surveyed
from shop import instrument as made

HEAD = "place,breath,slide,cents,u95_cents\n"


@pytest.fixture
def tenor(tenor):
    tenor.write_text(json.dumps(made(reference_hz=442.0).to_dict()))
    return tenor


def pulled(path, one, name="the tenor"):
    """A survey of `one` in the ledger at `path`, as a meter's records make it."""
    heard, _ = surveyed(one, np.random.default_rng(3), clock=0.4)
    survey = {field: 0 for field, _ in record.SURVEY}
    survey |= {"instrument": one.key_id, "name": name, "layout": one.layout.id, "reeds": 48, "state": 1}
    survey |= {"pass_number": 2, "reference_mhz": 442000, "tolerance_cc": 200, "unix_s": 1_700_000_000}
    records = [record.pack("survey", 0, survey)]
    for sequence, take in enumerate(heard, start=1):
        values = {field: 0 for field, _ in record.TAKE}
        values |= {"ordinal": take.ordinal, "number": take.number, "state": 1, "rate": 16000, "span": 12000}
        values |= {"uhz": round(take.hz * 1e6), "se_mcent": 50, "clock_u_ppb": 200, "scatter_mcent": 350}
        values |= {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32, "board_dc": record.NO_TEMPERATURE}
        records.append(record.pack("take", sequence, values))
    with Ledger.open(path, write=True) as ledger:
        ledger.keep_instrument(one.key_id, name, one.layout.id, one.to_dict())
        ledger.keep(Sender("e6614103e7452d2f", 1, "bench", "0.1.0"), records)


def rows_of(path):
    with open(path, encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_what_is_exported_and_imported_again_gives_the_same_plan(capsys, ledger, tmp_path):
    pulled(ledger, made("solo-12", "the tenor", reference_hz=442.0))
    assert called(capsys, "export", "readings", "--out", tmp_path / "r.csv")[0] == 0
    _, before, _ = called(capsys, "plan")
    code, done, err = called(capsys, "import", tmp_path / "r.csv")
    assert (code, done["new"], err) == (0, True, "")
    assert (done["survey"]["state"], done["survey"]["pass"], done["survey"]["readings"]) == ("covers off", 2, 48)
    assert time.localtime(done["survey"]["unix_s"])[:3] == time.localtime(1_700_000_000)[:3]
    _, after, _ = called(capsys, "plan", 2)
    assert after["survey"]["file"] == "r.csv" and after["survey"]["survey"] == 2
    assert before["totals"] == after["totals"] and before["totals"]["need_work"] > 10
    for a, b in zip(before["reeds"], after["reeds"], strict=True):
        assert (a["verdict"], a["action"], a["order"]) == (b["verdict"], b["action"], b["order"])
        assert b["reading_cents"] == pytest.approx(a["reading_cents"], abs=0.002)
        assert b["u95_cents"] == pytest.approx(a["u95_cents"], abs=0.002)
    assert called(capsys, "export", "readings", "--out", tmp_path / "again.csv")[0] == 0
    for a, b in zip(rows_of(tmp_path / "r.csv"), rows_of(tmp_path / "again.csv"), strict=True):
        apart = ("survey", "takes_used", "takes_left_out", "clock_u95_cents", "hz", "cents", "u95_cents")
        assert {k: v for k, v in a.items() if k not in apart} == {k: v for k, v in b.items() if k not in apart}
        assert float(a["hz"]) == pytest.approx(float(b["hz"]), abs=2e-6)


@pytest.mark.parametrize("name", TABLES)
def test_a_table_has_the_columns_that_its_schema_names_and_a_line_for_each(capsys, ledger, tmp_path, name):
    pulled(ledger, made(reference_hz=442.0))
    code, done, _ = called(capsys, "export", "all", "--out", tmp_path / "all")
    assert code == 0
    (file,) = [one for one in done["files"] if one["table"] == name]
    rows = rows_of(file["file"])
    schema, columns = TABLES[name]
    assert list(rows[0]) == ["schema", *(column.name for column in columns)]
    assert len(rows) == file["rows"] and {row["schema"] for row in rows} == {schema}
    assert len({column.name for column in columns}) == len(columns)


def test_the_plan_and_the_takes_say_what_their_commands_say(capsys, ledger, tmp_path):
    pulled(ledger, made(reference_hz=442.0))
    called(capsys, "export", "all", "--out", tmp_path / "all")
    _, plan, _ = called(capsys, "plan")
    by_ordinal = {row["ordinal"]: row for row in rows_of(tmp_path / "all" / "plan.csv")}
    for reed in plan["reeds"]:
        row = by_ordinal[str(reed["ordinal"])]
        assert (row["verdict"], row["action"], row["why"]) == (reed["verdict"], reed["action"], reed["why"])
        assert float(row["reading_cents"]) == pytest.approx(reed["reading_cents"], abs=0.001)
    orders = [int(row["order"]) for row in rows_of(tmp_path / "all" / "plan.csv") if row["order"] != "0"]
    assert orders == sorted(orders)
    _, survey, _ = called(capsys, "survey", "show")
    rows = rows_of(tmp_path / "all" / "takes.csv")
    assert [float(row["hz"]) for row in rows] == pytest.approx([take["hz"] for take in survey["takes"]], abs=1e-6)


def test_takes_of_an_instrument_that_the_ledger_does_not_have_are_exported_without_its_words(capsys, ledger, tmp_path):
    pulled(ledger, made())
    with Ledger.open(ledger, write=True) as opened, opened._transaction() as connection:
        connection.execute("DELETE FROM instruments")
    assert called(capsys, "export", "takes", "--out", tmp_path / "t.csv")[0] == 0
    row = rows_of(tmp_path / "t.csv")[0]
    assert row["hz"] and not row["place"] and not row["cents"]
    assert called(capsys, "export", "plan", "--out", tmp_path / "p.csv")[0] == 2


EVIL = ["=1+1", "+1", "-1", "@x", "'=1", "'", "＝1", " =1", "\t=1", "\r=1", "=cmd|' /C calc'!A0", 'a",b', "x\x1b[2J"]


@pytest.mark.parametrize("text", [*EVIL, "plain", "-", "1 blow", ""])
def test_no_text_is_a_formula_and_every_text_comes_back(text):
    from reedbench.output import clean

    cell = guarded(text)
    assert not cell.lstrip().startswith(("=", "+", "-", "@", "＝", "＋", "－", "＠"))
    assert "\x1b" not in cell and "\n" not in cell and "\t" not in cell
    assert unguarded(cell) == clean(text)


def test_evil_names_are_harmless_in_every_table(capsys, ledger, tmp_path):
    for number, name in enumerate(EVIL):
        path = tmp_path / f"{number}.db"
        pulled(path, made(), name=name)
        out = tmp_path / str(number)
        assert called(capsys, "export", "all", "--out", out, "--ledger", path)[0] == 0
        for table in TABLES:
            for row in rows_of(out / f"{table}.csv"):
                for column, cell in row.items():
                    number_like = cell.lstrip("-").replace(".", "", 1).isdigit()
                    assert number_like or not cell.startswith(("=", "+", "-", "@")), (table, column, cell)


def test_standard_output_gets_the_table_and_nothing_else(capsys, ledger):
    pulled(ledger, made())
    assert run(["export", "readings", "--out", "-"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and len(list(csv.DictReader(io.StringIO(out)))) == 48
    assert run(["export", "readings", "--out", "-", "--json"]) == 2
    assert run(["export", "all", "--out", "-"]) == 2


def test_nothing_is_replaced_unasked(capsys, ledger, tmp_path):
    pulled(ledger, made())
    path = tmp_path / "all" / "plan.csv"
    path.parent.mkdir()
    path.write_text("mine")
    code, _, err = called(capsys, "export", "all", "--out", tmp_path / "all")
    assert (code, path.read_text()) == (2, "mine") and "--force" in err
    assert not (tmp_path / "all" / "takes.csv").exists()
    assert called(capsys, "export", "all", "--out", tmp_path / "all", "--force")[0] == 0


def imported(capsys, tmp_path, tenor, text, *options):
    path = tmp_path / "paper.csv"
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return called(capsys, "import", path, "--instrument", tenor, *options)


@pytest.mark.parametrize(
    "text",
    [
        HEAD + "1,blow,out,-4.5,1\n1,draw,out,2,1\n",
        "\ufeff" + HEAD + "1,blow,out,-4.5,1\r\n1,draw,out,2,1\r\n",
        "Hole;Breath;Slide;Cents;U95 cents\n1;Blow;OUT;-4,5;1,0\n1;draw;out;2;1\n",
        "hole\tbreath\tslide\tcents\tu95_cents\n1\tblow\tout\t\u22124.5\t1\n\n1\tdraw\tout\t2\t1\n\t\t\n",
        "ordinal,cents,u95_cents\n0,-4.5,1\n1,2,1\n",
        'place,breath,slide,cents,u95_cents,note,remark\n1,blow,out,-4.5,1,C4,"a, b"\n'
        "1,draw,out,2,1,D4\n2,blow,out,,\n",
    ],
)
def test_the_same_readings_however_they_are_written(capsys, ledger, tmp_path, tenor, text):
    code, done, err = imported(capsys, tmp_path, tenor, text)
    assert (code, done and done["survey"]["readings"]) == (0, 2), err
    _, shown, _ = called(capsys, "survey", "show")
    targets = [reed.target_hz for reed in made(reference_hz=442.0).reeds[:2]]
    assert [one["hz"] for one in shown["imported"]] == pytest.approx(
        [targets[0] * 2 ** (-4.5 / 1200), targets[1] * 2 ** (2 / 1200)], rel=1e-8
    )
    assert [one["u95_cents"] for one in shown["imported"]] == [1, 1]
    assert shown["takes"] == []


def test_readings_in_hertz_and_one_uncertainty_for_all(capsys, ledger, tmp_path, tenor):
    text = "place,breath,slide,hz,cents\n6,draw,in,880.5,99\n"
    code, _, err = imported(capsys, tmp_path, tenor, text)
    assert code == 2 and "line 2: its uncertainty is not stated" in err
    reed = next(one for one in made().reeds if (one.place, one.breath, one.slide) == ("6", "draw", "in"))
    text = f"place,breath,slide,hz,cents\n6,draw,in,{reed.target_hz},99\n"
    assert imported(capsys, tmp_path, tenor, text, "--u95-cents", 2.5)[0] == 0
    _, plan, _ = called(capsys, "plan")
    (one,) = [one for one in plan["reeds"] if one["reading_cents"] is not None]
    assert one["ordinal"] == reed.ordinal and one["u95_cents"] == 2.5
    assert sum(one["action"] == "sound again" for one in plan["reeds"]) >= 47  # nothing is known of the others


def test_an_uncertain_paper_makes_no_reed_good(capsys, ledger, tmp_path, tenor):
    """Tolerance 2 cents: a reading of 1 is good within 0.5 and unsure within 2."""
    for u95, verdict in ((0.5, "good"), (2, "unsure")):
        assert imported(capsys, tmp_path, tenor, HEAD + f"1,blow,out,1,{u95}\n")[0] == 0
        _, plan, _ = called(capsys, "plan")
        assert plan["reeds"][0]["verdict"] == verdict


def test_twice_imported_is_there_once(capsys, ledger, tmp_path, tenor):
    text = HEAD + "1,blow,out,-4.5,1\n1,draw,out,2,1\n"
    _, first, _ = imported(capsys, tmp_path, tenor, text)
    reordered = HEAD + "1,draw,out,2.0,1.0\n1,blow,out,-4.50,1\n"
    code, again, _ = imported(capsys, tmp_path, tenor, reordered)
    assert (code, again["new"], again["survey"]) == (0, False, first["survey"])
    code, other, _ = imported(capsys, tmp_path, tenor, text, "--pass", 1)
    assert (code, other["new"], other["survey"]["survey"]) == (0, True, 2)
    assert len(called(capsys, "survey", "list")[1]["surveys"]) == 2
    with Ledger.open(ledger) as opened:
        assert [row["raw"] for row in opened._all("SELECT raw FROM records ORDER BY id")] == [text.encode()] * 2


def test_an_imported_survey_is_marked_wherever_people_see_it(capsys, ledger, tmp_path, tenor):
    imported(capsys, tmp_path, tenor, HEAD + "1,blow,out,-4.5,1\n", "--date", "2024-03-18")
    for line in (["survey", "list"], ["survey", "show"], ["plan"]):
        assert run(line) == 0
        assert "imported from paper.csv" in capsys.readouterr().out.lower()
    assert run(["sheet", "--out", str(tmp_path / "s.html")]) == 0
    assert "imported from paper.csv" in (tmp_path / "s.html").read_text()
    capsys.readouterr()
    code, _, err = called(capsys, "export", "takes", "--out", tmp_path / "x.csv")
    assert code == 2 and "no takes" in err
    assert [one["table"] for one in called(capsys, "export", "all", "--out", tmp_path / "a")[1]["files"]] == [
        "readings",
        "plan",
    ]


def test_surveys_of_one_instrument(capsys, ledger, tmp_path, tenor):
    imported(capsys, tmp_path, tenor, HEAD + "1,blow,out,-4.5,1\n")
    assert len(called(capsys, "survey", "list", "--instrument", made().key_id)[1]["surveys"]) == 1
    assert called(capsys, "survey", "list", "--instrument", "x")[1]["surveys"] == []


@pytest.mark.parametrize(
    ("layout", "text", "ordinals"),
    [
        ("accordion-26", "key,breath,member,cents\nB3,push,M,1\nB3,push,M+,2\nB3,pull,m+,3\n", [0, 2, 3]),
        ("harmonium-39", "key,member,cents\nC3,bass,1\nC3,female,2\n", [0, 2]),
        ("melodica-32", "key,hz\nF3,174.5\n", [0]),
    ],
)
def test_banks_pairs_and_keys_without_breath(capsys, ledger, tmp_path, layout, text, ordinals):
    (tmp_path / "i.json").write_text(json.dumps(made(layout).to_dict()))
    (tmp_path / "p.csv").write_text(text)
    code, told, err = called(
        capsys, "import", tmp_path / "p.csv", "--instrument", tmp_path / "i.json", "--u95-cents", "1"
    )
    assert code == 0, err
    number = told["survey"]["survey"]
    shown = called(capsys, "survey", "show", number)[1]["imported"]
    assert [one["ordinal"] for one in shown] == ordinals
    again = tmp_path / "r.csv"  # what was exported can be imported elsewhere, member and all
    assert called(capsys, "export", "readings", number, "--out", again)[0] == 0
    code, told, err = called(
        capsys, "import", again, "--ledger", tmp_path / "other.db", "--instrument", tmp_path / "i.json"
    )
    assert (code, told["survey"]["readings"]) == (0, len(ordinals)), err


ROW = "1,blow,out,1,1\n"


@pytest.mark.parametrize(
    ("text", "says"),
    [
        (b"", "line 1: there must be a column place"),
        ("1;blow;out;-3\n", "line 1: there must be a column place (or hole, key, button); there are 1, blow, out, -3"),
        ("something\n1\n", "its first line must name the columns, apart by commas, semicolons or tabs"),
        ("plcae,breath,cents\n1,blow,2\n", 'is "plcae" meant to be place?'),
        (b"\xff\xfea\0b\0", "not UTF-8 text"),
        (b"a\0b,c\n", "not a text file"),
        (b"PK\x03\x04\x14\x00\x06\x00", "not a text file"),
        (HEAD, "no line with a reading"),
        (HEAD + "1,blow,out,,1\n", "no line with a reading"),
        ("place,breath,slide\n1,blow,out\n", "line 1: there must be a column cents or hz"),
        ("place,hole,breath,cents\n", 'line 1: two columns are called "place"'),
        (HEAD + ROW + "13,blow,out,1,1\n", 'line 3: solo-12 has no reed with place "13", breath "blow"'),
        (HEAD + ROW + ROW, "line 3: the reed 1 blow, slide out stands in line 2 already"),
        (HEAD + "1,blow,,1,1\n", "line 2: 2 reeds have"),
        (HEAD + "1,blow,out,NaN,1\n", 'line 2: cents is "NaN"; it must be a number from -1200 to 1200'),
        (HEAD + "1,blow,out,inf,1\n", "line 2: cents"),
        (HEAD + "1,blow,out,1e400,1\n", "line 2: cents"),
        (HEAD + "1,blow,out,four,1\n", 'line 2: cents is "four"; it must be a number'),
        (HEAD + "1,blow,out,1300,1\n", "line 2: cents"),
        (HEAD + "1,blow,out,1,0\n", "line 2: u95_cents"),
        (HEAD + "1,blow,out,1,-2\n", "line 2: u95_cents"),
        (HEAD + "1,blow,out,1,1,x\n", "line 2: 6 cells under 5 names"),
        (HEAD + '1,"blow,out,1,1\n', "line 2: not CSV"),
        (HEAD + '1,"bl"ow,out,1,1\n', "line 2: not CSV"),
        (HEAD + "x" * (CELL_MOST + 1) + ",blow,out,1,1\n", "line 2: too long"),
        (HEAD + "," * 200 + "\n", "line 2: too long"),
        (HEAD + ROW + "x" * LONGEST_BYTES, "longer than 1024 KiB"),
        (HEAD + "\n" * (ROWS_MOST + 1), "more than 2000 lines"),
        ("place,breath,slide,hz,u95_cents\n1,blow,out,880,1\n", "line 2: hz is 880, +2092 cents from the target"),
        ("place,breath,slide,cents,u95_cents,note\n1,blow,out,1,1,A4\n", 'line 2: note is "A4", but 1 blow'),
        ("place,breath,slide,cents,u95_cents,date\n1,blow,out,1,1,3.5.24\n", 'date "3.5.24" is not a day'),
        ("place,breath,slide,cents,u95_cents,date\n1,blow,out,1,1,0001-01-01\n", "is not a day"),
        ("place,breath,slide,cents,u95_cents,state\n1,blow,out,1,1,boiled\n", 'the state "boiled" is none of'),
        (
            "place,breath,slide,cents,u95_cents,state\n1,blow,out,1,1,plucked\n1,draw,out,1,1,assembled\n",
            "line 3: state is",
        ),
        ("place,breath,slide,cents,u95_cents,pass\n1,blow,out,1,1,many\n", 'line 2: pass is "many"'),
        ("place,breath,slide,cents,u95_cents,instrument\n1,blow,out,1,1,ff\n", "reading of the instrument"),
        ("schema,place,breath,slide,cents,u95_cents\nreedbench.takes/1,1,blow,out,1,1\n", "line 2: schema is"),
        (HEAD + "\x1b[2J,blow,out,1,1\n", "line 2: solo-12 has no reed"),
    ],
)
def test_a_bad_table_is_refused_by_line_and_nothing_is_kept(capsys, ledger, tmp_path, tenor, text, says):
    began = time.monotonic()
    code, done, err = imported(capsys, tmp_path, tenor, text)
    assert time.monotonic() - began < 2
    assert (code, done) == (2, None)
    assert says in err and err.count("\n") == 1 and "\x1b" not in err and len(err) < 400
    with Ledger.open(ledger, write=True) as opened:
        assert opened.surveys() == [] and opened.instruments() == []


def test_a_table_without_its_instrument(capsys, ledger, tmp_path):
    path = tmp_path / "paper.csv"
    path.write_text(HEAD + ROW)
    assert "whose readings" in called(capsys, "import", path)[2]
    assert "there is no instrument x" in called(capsys, "import", path, "--instrument", "x")[2]
    assert "cannot be read" in called(capsys, "import", tmp_path)[2]


def test_columns_that_mean_nothing_are_named_unless_quiet(capsys, ledger, tmp_path, tenor):
    text = "place,breath,slide,cents,u95_cents,weather\n1,blow,out,1,1,rain\n"
    assert "weather" in imported(capsys, tmp_path, tenor, text)[2]
    assert imported(capsys, tmp_path, tenor, text, "--quiet")[2] == ""
