"""The generated pages are those of this very code, every command has words, and the keys listed are those printed."""

import contextlib
import csv
import io
import json
import os
import pty
import shlex
import subprocess
import sys
import time
import tty
from collections.abc import Iterator
from importlib import import_module
from pathlib import Path
from typing import Any

import click
import pytest
from jsonschema import Draft202012Validator
from reedbench import finding, link
from reedbench.__main__ import run
from reedbench.calibrating import Calibration
from reedbench.clock import Rate
from reedbench.commands import find
from reedbench.control import Control, Sounded
from reedbench.installing import Brought, Found
from reedbench.link import Link, Meter
from reedbench.port import Candidate
from reedbench.surveys import control_dict
from tree import ROOT, reached

DOCS = ROOT / "docs"
sys.path += [str(DOCS), str(ROOT / "tests" / "host")]
record_book = import_module("record_book")
shop = import_module("shop")
pair_shop = import_module("pair_shop")
two_reeds = import_module("two_reeds")
make_pages = import_module("make_pages")
json_keys = import_module("json_keys")
json_schema = import_module("json_schema")

COMMANDS = dict(make_pages.every_command())
LEAVES = {name: command for name, command in COMMANDS.items() if not isinstance(command, click.Group)}
PATIENCE_S = 60


@pytest.mark.parametrize("name", make_pages.PAGES)
def test_a_page_is_up_to_date(name: str) -> None:
    there = (DOCS / name).read_text(encoding="utf-8")
    assert there == make_pages.page(name), f"run `make pages` and look at what changes in docs/{name}"


def test_a_stale_page_is_noticed_and_made_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    for name in make_pages.PAGES:
        (tmp_path / name).write_text("old")
    (tmp_path / "templates").symlink_to(DOCS / "templates")
    monkeypatch.setattr(make_pages, "DOCS", tmp_path)
    assert make_pages.main(["--check"]) == 1
    assert (tmp_path / "protocol.md").read_text() == "old"
    assert make_pages.main([]) == 0
    assert make_pages.main(["--check"]) == 0


@pytest.mark.parametrize("name", COMMANDS)
def test_a_command_has_words_and_stands_on_the_page(name: str) -> None:
    first, _ = next(make_pages.paragraphs(COMMANDS[name]))
    assert first.endswith(".") and len(first.split()) >= 3, (
        f"`reedbench {name}` needs a sentence that says what it does"
    )
    assert f"\n## reedbench {name}\n" in (DOCS / "commands.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", LEAVES)
def test_every_option_has_words(name: str) -> None:
    for option in LEAVES[name].params:
        if isinstance(option, click.Option):
            assert option.help and option.help.endswith("."), f"{option.opts[0]} of `reedbench {name}` needs a sentence"


@pytest.mark.parametrize("name", LEAVES)
def test_the_example_of_a_command_can_be_typed(name: str) -> None:
    """Options that there are, with values that they take, and as many arguments as there must be."""
    examples = [example for _, example in make_pages.paragraphs(LEAVES[name]) if example]
    assert examples, f"`reedbench {name}` needs an example"
    for example in "\n".join(examples).splitlines():
        assert example.startswith(f"reedbench {name}")
        words = shlex.split(example.partition(" > ")[0])[1 + len(name.split()) :]
        LEAVES[name].make_context(name, words)


@pytest.mark.parametrize("name", LEAVES)
def test_every_command_can_report_to_programs_and_be_quiet(name: str) -> None:
    """But for one whose result is a script."""
    written = [spelling for option in LEAVES[name].params for spelling in option.opts]
    assert "--quiet" in written, f"`reedbench {name}` needs quiet_option"
    assert "--json" in written or name == "completion", f"`reedbench {name}` needs json_option"


@pytest.mark.parametrize("name", LEAVES)
def test_help_is_shown_and_teaches(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run([*name.split(), "--help"]) == 0
    out, err = capsys.readouterr()
    assert err == "" and "Example:" in out and "--quiet" in out
    assert all(len(line) <= 80 for line in out.splitlines() if not line.strip().startswith("reedbench"))


def test_the_commands_that_can_miss_a_meter_are_those_that_talk_to_one() -> None:
    talking = {name for name in make_pages.COMMANDS if "reedbench.link" in reached(f"reedbench.commands.{name}")}
    assert talking == set(json_keys.TALKING)


def test_keys_are_listed_for_every_command_that_prints_json() -> None:
    printing = {name for name, command in LEAVES.items() if any("--json" in one.opts for one in command.params)}
    assert {name.partition(" --")[0] for name in json_keys.KEYS} == printing


def keys(value: Any, place: str = "") -> Iterator[str]:
    """Every key in a JSON value, as the pages write it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            here = f"{place}.{key}" if place else key
            yield here
            yield from keys(inner, here)
    elif isinstance(value, list):
        for inner in value:
            yield from keys(inner, place + "[]")


def said(*arguments: Any) -> Any:
    """What a command prints with --json."""
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        code = run([*map(str, arguments), "--json"])
    assert code == 0, arguments
    return json.loads(out.getvalue())


@contextlib.contextmanager
def desk_meter(scenario: Path) -> Iterator[dict[str, str]]:
    """What `reedbench desk` prints, while it runs; it plays the scenario's instrument, after a minute at the bench."""
    command = [sys.executable, "-m", "reedbench", "desk", "--fast", "--mic", str(scenario), "--json"]
    command += ["--keys", "60000:do:hold,60500:down,61000:do"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout
        lines = []
        while not lines or lines[-1] != "}\n":
            lines.append(process.stdout.readline())
            assert lines[-1], "the desk meter did not start"
        try:
            yield json.loads("".join(lines))
        finally:
            process.terminate()


@contextlib.contextmanager
def stranger() -> Iterator[str]:
    """A port with nobody behind it."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    try:
        yield os.ttyname(slave)
    finally:
        os.close(slave)
        os.close(master)


@pytest.fixture(scope="module")
def printed(micropython_program: str, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What each command prints, on one road from the demo to a meter of its own."""
    folder = tmp_path_factory.mktemp("pages") / "demo"
    scenario = folder / "scenario.json"
    found = {"demo": said("demo", "--out", folder)}
    takes = [take for reed in found["demo"]["reeds"] for take in reed["takes"]]
    files = [takes[0]["file"], *(take["file"] for take in takes if take["hz"] is None)]
    both = two_reeds.recording(folder / "both.wav", (440.0, 443.0), (0, -2), 2.0)
    slow = two_reeds.recording(folder / "slow.wav", (523.0, 523.25, 527.85, 528.1), (0, -6, -2, -8), 1.6, seed=2)
    found["hear"] = said("hear", both, slow, *(folder / "takes" / name for name in files))

    told = json.loads(scenario.read_text())["instrument"]
    (folder / "instrument.json").write_text(json.dumps(told))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("REEDBENCH_LEDGER", str(folder / "ledger.sqlite"))
        found["instrument add"] = said("instrument", "add", folder / "instrument.json")
        for line in ("instrument list", f"instrument show {told['key_id']}", "survey list", "survey show", "plan"):
            found[" ".join(line.split()[:2])] = said(*line.split())
        looked_at = next(reed for reed in found["plan"]["reeds"] if reed["takes_left_out"] and not reed["takes_used"])
        found["plan --why"] = said("plan", "--why", looked_at["ordinal"])
        pair_shop.keep(folder / "pairs.db")
        found["plan --together"] = said("plan", "--together", "--ledger", folder / "pairs.db")
        found["survey of pairs"] = said("survey", "show", 2, "--ledger", folder / "pairs.db")
        found["plan --reference"] = said("plan", "--reference")
        found["sheet"] = said("sheet", "--out", folder / "again.html")
        found |= of_the_record(folder)
        found |= tended(folder)
        found["install"] = installed(patch)
        with desk_meter(scenario) as found["desk"], stranger() as nobody:
            port = found["desk"]["port"]
            patch.setattr(link, "HELLO_S", 1.0)  # of waiting for the one that never answers
            for module in (find, finding):
                patch.setattr(module, "candidates", lambda: [Candidate(port, None), Candidate(nobody, None)])
            found["find"] = said("find")
            known = Calibration(Rate(12.0, 1.0, 120.0), True)  # this meter's time is made by its player
            patch.setattr(find, "watch", lambda *_: known)
            found["find --clock"] = said("find", "--clock", 120, "--port", port)
            found["load"] = said("load", told["key_id"], "--port", port)
            until = time.monotonic() + PATIENCE_S
            found["pull"] = said("pull", "--port", port)
            found["ledger home"] = said("ledger", "home", "--port", port)
            while not found["pull"]["surveys"] and time.monotonic() < until:
                found["pull"] = said("pull", "--port", port)
            while not found["pull"]["sittings"] and time.monotonic() < until:
                found["pull"]["sittings"] = said("pull", "--port", port)["sittings"]
    return found


def installed(patch: pytest.MonkeyPatch) -> Any:
    """What `install` prints of a board that is not there; tests/emulated has one that is."""
    command = import_module("reedbench.commands.install")
    meter = Meter(Link(None), "P", "S", "pico", "0", 1, 7, 0, 9, 1000, 0, "")  # type: ignore[arg-type]
    patch.setattr(command, "hand_over", lambda port, may: meter)
    patch.setattr(command, "at_prompt", lambda port: contextlib.nullcontext())
    patch.setattr(command, "processor", lambda board: "armv6m")
    patch.setattr(command, "examine", lambda board, files: Found("reed-a", ()))
    patch.setattr(command, "bring", lambda board, found, files, step: Brought("reed-b", len(files), True))
    patch.setattr(command, "take_back", lambda port: meter)
    return said("install", "--port", "P")


def tended(folder: Path) -> dict[str, Any]:
    """What the commands print that need a ledger and no meter."""
    new, paper, copy = folder / "new.json", folder / "paper.csv", folder / "copy.db"
    paper.write_text("place,breath,slide,cents,u95_cents\n1,blow,out,-3,1\n")
    found = {
        "export": said("export", "all", "--out", folder / "tables"),
        "instrument new": said("instrument", "new", new, "--name", "new", "--layout", "solo-8"),
        "instrument edit": said("instrument", "edit", new, "--set", "reference_hz=443"),
        "ledger check": said("ledger", "check"),
        "ledger backup": said("ledger", "backup", copy),
    }
    key = said("instrument", "add", new)["instrument"]["key_id"]
    found["instrument remove"] = said("instrument", "remove", key)
    trial = ("--ledger", folder / "trial.db")
    found["import"] = said("import", paper, "--instrument", new, *trial)
    found["survey remove"] = said("survey", "remove", 1, "--yes", *trial)
    said("survey", "remove", 1, "--undo", *trial)
    found["imported survey"] = said("survey", "show", *trial)
    found |= of_layouts(folder)
    found["ledger restore"] = said("ledger", "restore", copy, "--force", *trial)
    return found


def of_the_record(folder: Path) -> dict[str, Any]:
    """What the commands print that tell of a shop's record: of three years, and an instrument out of tune again."""
    path = folder / "record.db"
    book = record_book.RecordBook(path, shop.instrument("solo-12"))
    record_book.years(book)
    book.cents[::2] -= 9
    book.survey(days=300)
    counted = folder / "counted.csv"
    counted.write_text("ordinal,action,strokes\n0,raise,6\n")
    lines = ("survey strokes 1 " + str(counted), "history", "history --reed 3", "history --shop")
    found = {" ".join(line.split()[:2]): said(*line.split(), "--ledger", path) for line in lines}
    found["plan that goes on"] = said("plan", 7, "--ledger", path)
    return found | {"sheet --site": said("sheet", "--site", folder / "site", "--ledger", path)}


def of_layouts(folder: Path) -> dict[str, Any]:
    """What the commands print about layouts, one with pairs."""
    layout = folder / "layout.json"
    found = {"layout list": said("layout", "list"), "layout show": said("layout", "show", "tremolo-24")}
    layout.write_text(json.dumps(found["layout show"] | {"id": "mine"}))
    return found | {"layout check": said("layout", "check", layout)}


@pytest.mark.parametrize("name", json_keys.KEYS)
def test_the_keys_listed_are_those_printed(printed: dict[str, Any], name: str) -> None:
    listed, there = list(json_keys.KEYS[name]), set(keys(printed[name]))
    if name in ("plan", "plan --why"):  # which goes on with an earlier survey, and knows the shop, in the other ledger
        goes_on = printed["plan that goes on"]
        for reed in goes_on["reeds"]:
            more = {"reed": reed, "settles_later": goes_on["settled"]}
            there |= set(keys(goes_on if name == "plan" else more))
    if name == "survey show":
        there |= set(keys(printed["imported survey"]))  # which has readings where the other has takes
        there |= set(keys(printed["survey of pairs"]))  # which has takes of both
        there |= set(keys({"control": control_dict(Control(0, [Sounded(0.0, 1.0, 0.2)] * 2, [0.0]))}))
    missing, new = [key for key in listed if key not in there], sorted(there - set(listed))
    assert not missing, f"`reedbench {name} --json` no longer prints {', '.join(missing)}: others may rely on them"
    assert not new, f"list in docs/json_keys.py what `reedbench {name} --json` also prints: {', '.join(new)}"


@pytest.mark.parametrize("name", json_keys.KEYS)
def test_what_is_printed_fits_its_schema(printed: dict[str, Any], name: str) -> None:
    schema = json_schema.schema()
    check = Draft202012Validator({"$ref": f"#/$defs/{name}", "$defs": schema["$defs"]})
    check.validate(printed[name])
    spoiled = [{}] if isinstance(printed[name], list) else {}
    assert not check.is_valid(spoiled)


def test_the_schema_is_one_and_says_its_version() -> None:
    schema = json_schema.schema()
    Draft202012Validator.check_schema(schema)
    assert schema["$id"].endswith(f":{json_schema.VERSION}") and set(json_keys.KEYS) < set(schema["$defs"])


@pytest.mark.parametrize("table", json_schema.exporting.TABLES)
def test_rows_of_a_table_fit_their_schema(printed: dict[str, Any], table: str) -> None:
    check = Draft202012Validator(json_schema.schema()["$defs"][f"csv {table}"])
    (path,) = (one["file"] for one in printed["export"]["files"] if one["table"] == table)
    with open(path, encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    for row in rows:
        check.validate(row)
    assert rows and not check.is_valid(rows[0] | {"survey": "one"})
