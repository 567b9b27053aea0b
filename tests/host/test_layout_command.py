"""`reedbench layout`, and the page that tells how to make a layout of one's own."""

import json
import re
from pathlib import Path

import pytest
from reedbench import layouts
from reedbench.__main__ import run
from reedbench.instrument import Instrument
from shop import instrument

PAGE = (Path(__file__).parents[2] / "docs" / "layouts.md").read_text(encoding="utf-8")


@pytest.fixture
def example(tmp_path, monkeypatch):
    """The page's layout, saved under the name that the page gives it, in the folder one works in."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "120")
    (content,) = re.findall(r"```json\n(.*?)```", PAGE, re.S)
    Path("one-row-10.json").write_text(content, encoding="utf-8")
    return json.loads(content)


def said(capsys, *line):
    assert run(["layout", *map(str, line)]) == 0
    return capsys.readouterr().out


def test_list_marks_what_is_from_memory(capsys):
    rows = {row["id"]: row for row in json.loads(said(capsys, "list", "--json"))["layouts"]}
    assert set(rows) == set(layouts.names())
    _, *lines, foot = said(capsys, "list").splitlines()
    assert foot == "* from memory: check it on the instrument"
    family, named = "", []
    for line in lines:
        assert len(line) <= 80
        if not line.startswith("  "):
            family = line
            continue
        named.append(line.split()[0])
        row = rows[named[-1]]
        assert row["title"] == f"{family}, {line.split('  ')[-1].strip()}" and f" {row['reeds']} " in line
        assert ("*" in line) == row["unconfirmed"]
    assert sorted(named) == sorted(layouts.names())


@pytest.mark.parametrize("name", layouts.names())
def test_show_is_the_table_as_a_person_reads_it(capsys, monkeypatch, name):
    monkeypatch.setenv("COLUMNS", "80")
    text = said(capsys, "show", name)
    layout = layouts.load(name)
    assert ("From memory: check it on the instrument" in text) == layout.unconfirmed
    rows = {line.split()[0]: line.split()[1:] for line in text.split("\n\n")[1].splitlines()[1:]}
    assert list(rows) == list(dict.fromkeys(reed.place for reed in layout.reeds))
    for place, notes in rows.items():
        assert sum(note != "-" for note in notes) == sum(reed.place == place for reed in layout.reeds)
    for plate in layout.plates:
        assert plate in text
    assert all(len(line) <= 80 for line in text.splitlines())


def test_show_has_octaves_plates_and_faces(capsys):
    text = said(capsys, "show", "richter-10")
    assert "    5  E5    F5" in text
    assert "upper plate, 1 to 10: blow on the inner face" in text
    assert "lower plate, 1 to 10: draw on the outer face" in text
    text = said(capsys, "show", "solo-12")
    assert "   12  C7        B6        C#7      D7" in text and "last hole: D or C" in text


@pytest.mark.parametrize("name", layouts.names())
def test_a_shipped_layout_is_a_start_for_ones_own(capsys, tmp_path, name):
    mine = json.loads(said(capsys, "show", name, "--json")) | {"id": "mine", "unconfirmed": False}
    (tmp_path / "mine.json").write_text(json.dumps(mine))
    told = json.loads(said(capsys, "check", tmp_path / "mine.json", "--json"))
    layout = layouts.load(name)
    assert (told["id"], told["reeds"], told["plates"]) == ("mine", len(layout.reeds), list(layout.plates))
    assert json.loads(said(capsys, "show", tmp_path / "mine.json", "--json")) == mine


def test_the_pages_example_is_checked_as_the_page_says(capsys, example):
    told = re.search(r"check one-row-10.json\n```\n\n```text\n(.*?)```", PAGE, re.S)
    assert told and said(capsys, "check", "one-row-10.json") == told[1]


def test_an_instrument_of_the_pages_example(example):
    values = instrument("accordion-26").to_dict() | {"key": "C", "layout": "one-row-10.json"}
    Path("mine.json").write_text(json.dumps(values))
    made = Instrument.read("mine.json")
    assert len(made.reeds) == 40 and made.plates == ("M", "M+")
    table = [(row[0], row[1], row[2]) for row in example["reeds"]]
    base = [reed for reed in made.reeds if reed.member == "M"]
    assert [(a.place, a.midi, b.midi) for a, b in zip(base[::2], base[1::2], strict=True)] == table


def test_every_field_stands_on_the_page():
    fields = set(re.findall(r"`(\w+)`", " ".join(re.findall(r"^\| (`.*?) \|", PAGE, re.M))))
    used = {field for name in layouts.names() for field in layouts.load(name).document}
    assert used <= fields


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"id": "solo-12"}, 'a layout called "solo-12" comes with the program: give yours another id'),
        ({"reeds": [["1", 55]]}, "row 1 of reeds must be a list of the place and 2 notes"),
        ({"voices": ["blow", "suck"]}, "voices is a list; it must be a list of different voices"),
        ({"plates": [{"name": "M", "bank": "M"}]}, "the reed 1 push M+ sits on none of the plates"),
    ],
)
def test_a_fault_is_one_line(capsys, example, change, says):
    Path("bad.json").write_text(json.dumps(example | change))
    for verb in ("check", "show"):
        assert run(["layout", verb, "bad.json"]) == 2
        out, err = capsys.readouterr()
        assert out == "" and err.startswith("reedbench: bad.json: ") and err.count("\n") == 1 and says in err


@pytest.mark.parametrize("line", [["show", "solo-13"], ["check", "nowhere.json"], ["check", "."]])
def test_what_is_not_there(capsys, line):
    assert run(["layout", *line]) == 2
    assert capsys.readouterr().err.count("\n") == 1
