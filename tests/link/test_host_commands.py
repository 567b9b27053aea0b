"""The commands on a real pty with the meter's own firmware behind it, as a person or a program calls them."""

import json
import os

import pytest
from host_cable import Cable, Firmware, Script
from reedbench.__main__ import run
from reedbench.firmware.wire import frames, messages, record
from reedbench.instrument import Instrument, TuningOrder
from reedbench.layouts import load as load_layout

EVIL = "<script>\x1b[2J\u202eevil"


@pytest.fixture
def ledger(tmp_path, monkeypatch):
    path = tmp_path / "ledger.db"
    monkeypatch.setenv("REEDBENCH_LEDGER", str(path))
    return path


@pytest.fixture
def firmware(tmp_path):
    root = tmp_path / "meter"
    root.mkdir()
    meter = Firmware(root, reeds=48)
    yield meter
    meter.close()


@pytest.fixture
def instrument(tmp_path):
    """The instrument that the firmware's survey is of, as a file."""
    one = Instrument("00112233445566aa", "the tenor", load_layout("solo-12"), last_hole="D", order=TuningOrder(442.0))
    path = tmp_path / "tenor.json"
    path.write_text(json.dumps(one.to_dict()))
    return path


def called(capsys, *arguments):
    """(exit code, JSON or None, stderr) of a command called with --json."""
    code = run([*map(str, arguments), "--json"])
    out, err = capsys.readouterr()
    return code, json.loads(out) if out else None, err


def shown(capsys, *arguments):
    """The lines a person sees, for a command that must succeed."""
    assert run([*map(str, arguments)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    return out


def test_the_road_from_meter_to_sheet(capsys, ledger, firmware, instrument, tmp_path):
    with Cable(firmware) as cable:
        code, found, _ = called(capsys, "find", "--port", cable.port)
        assert code == 0
        assert found["meters"][0]["meter"] == "e6614103e7452d2f"
        assert found["meters"][0]["records"] == 1 + 96 + 2 + 1

        code, loaded, _ = called(capsys, "load", instrument, "--port", cable.port, "--state", "covers off")
        assert (code, loaded["reeds"], loaded["state"]) == (0, 48, "covers off")

        code, pulled, _ = called(capsys, "pull", "--port", cable.port)
        assert (code, pulled["records"], pulled["takes"], pulled["missing"]) == (0, 100, 97, 0)
        assert pulled["freed"] > 97 * 100
        assert [(one["survey"], one["name"], one["takes"], one["ended"]) for one in pulled["surveys"]] == [
            (1, "the tenor", 97, True)
        ]
        assert "already has everything" in shown(capsys, "pull", "--port", cable.port)

    code, listed, _ = called(capsys, "survey", "list")
    assert listed["surveys"] == pulled["surveys"]
    code, survey, _ = called(capsys, "survey", "show", 1)
    assert len(survey["takes"]) == 97
    assert survey["takes"][0]["hz"] == 440.000001
    assert "1 draw, slide out" in shown(capsys, "survey", "show")

    code, plan, _ = called(capsys, "plan")
    assert (code, len(plan["reeds"]), plan["survey"]["survey"]) == (0, 48, 1)
    assert shown(capsys, "plan", 1)

    code, _, _ = called(capsys, "sheet", "--out", tmp_path / "sheet.html")
    assert code == 0
    assert "the tenor" in (tmp_path / "sheet.html").read_text()


def test_what_the_meter_holds_is_what_was_loaded(capsys, ledger, firmware, instrument):
    with Cable(firmware) as cable:
        assert called(capsys, "load", instrument, "--port", cable.port, "--pass", 2)[0] == 0
    lines = (firmware.root / "shelf" / "instrument").read_text().splitlines()
    name, head = messages.read_ask(lines[0])
    assert (name, head["name"], head["reference_mhz"], head["pass_number"]) == (
        "instrument",
        "the tenor",
        442000,
        2,
    )
    sent = [messages.read_ask(line)[1] for line in lines[1:-1]]
    wanted = Instrument.read(instrument)
    assert [reed["ordinal"] for reed in sent] == wanted.sounding_order()
    for reed in sent:
        there = wanted.reeds[reed["ordinal"]]
        assert reed["target_uhz"] == pytest.approx(there.target_hz * 1e6, abs=0.5)
        assert (reed["place"], reed["breath"], reed["slide"], reed["plate"]) == (
            there.place,
            there.breath,
            there.slide,
            there.plate,
        )


def test_load_by_key_after_instrument_add(capsys, ledger, firmware, instrument):
    assert called(capsys, "instrument", "add", instrument)[0] == 0
    with Cable(firmware) as cable:
        code, loaded, _ = called(capsys, "load", "00112233445566aa", "--port", cable.port)
    assert (code, loaded["reeds"]) == (0, 48)
    code, listed, _ = called(capsys, "instrument", "list")
    assert listed["instruments"] == [
        {"key": "00112233445566aa", "name": "the tenor", "layout": "solo-12", "surveys": 0}
    ]
    code, one, _ = called(capsys, "instrument", "show", "00112233445566aa")
    assert len(one["reeds"]) == 48


def one_line(err):
    assert err.startswith("reedbench: ") and err.count("\n") == 1 and "Traceback" not in err
    return err


def test_an_unplug_during_a_pull_is_one_line_and_the_next_pull_resumes(capsys, ledger, firmware):
    def cut(line, count):
        return None if count == 25 else line

    with Cable(firmware, to_host=cut) as cable:
        code, _, err = called(capsys, "pull", "--port", cable.port)
    assert code == 4
    assert "unplugged" in one_line(err)
    with Cable(firmware) as cable:
        code, pulled, _ = called(capsys, "pull", "--port", cable.port)
    assert code == 0
    assert 0 < pulled["records"] < 100
    assert pulled["surveys"][0]["takes"] == 97


def test_an_unplug_during_a_load_is_one_line_and_leaves_the_meter_as_it_was(capsys, ledger, firmware, instrument):
    def cut(line, count):
        return None if count == 40 else line

    with Cable(firmware, to_host=cut) as cable:
        code, _, err = called(capsys, "load", instrument, "--port", cable.port)
    assert code == 4
    one_line(err)
    assert not (firmware.root / "shelf").exists()


def test_no_meter(capsys, ledger, monkeypatch):
    from reedbench import finding, link
    from reedbench.commands import find

    monkeypatch.setattr(link, "HELLO_S", 0.3)
    for module in (finding, find):
        monkeypatch.setattr(module, "candidates", list)
    for command in ("find", "pull"):
        code, _, err = called(capsys, command)
        assert code == 3
        assert "no meter is connected" in one_line(err)
        code, _, err = called(capsys, command, "--port", "/dev/no-such-port")
        assert code == 3
        one_line(err)
    with Cable(Script(lambda line: b"login: \n")) as cable:
        code, _, err = called(capsys, "pull", "--port", cable.port)
    assert code == 3
    assert "is not a meter" in one_line(err)


def test_several_meters_ask_for_a_choice_and_one_among_strangers_is_found(capsys, ledger, firmware, monkeypatch):
    from reedbench import finding, link
    from reedbench.port import Candidate

    monkeypatch.setattr(link, "HELLO_S", 1.0)
    with Cable(firmware) as meter, Cable(Script(lambda line: b"")) as stranger:
        monkeypatch.setattr(
            finding, "candidates", lambda: [Candidate(stranger.port, None), Candidate(meter.port, None)]
        )
        assert called(capsys, "pull")[0] == 0
    (firmware.root / "two").mkdir()
    second = Firmware(firmware.root / "two")
    with Cable(firmware) as a, Cable(second) as b:
        monkeypatch.setattr(finding, "candidates", lambda: [Candidate(a.port, None), Candidate(b.port, None)])
        code, _, err = called(capsys, "pull")
    second.close()
    assert code == 2
    assert a.port in one_line(err) and b.port in err


def hostile(line):
    """A meter whose every text tries to act on the terminal or the page."""
    number, body = frames.unpack(line)
    name = body.split(" ")[0]
    take = {field: 0 for field, _ in record.TAKE}
    take.update(number=1, uhz=440000000, rate=0, flags=0xFFFF, state=200, ordinal=65535)
    take.update(trace_ccent=[0] * 32, trace_level_qdb=[0] * 32)
    survey = {field: 0 for field, _ in record.SURVEY}
    survey.update(instrument="../../../etc", name=EVIL, layout=EVIL, reference_mhz=0xFFFFFFFF, unix_s=0xFFFFFFFF)
    data = record.pack("survey", 0, survey) + record.pack("take", 1, take)
    answers = {
        "hello": {
            "protocol": 1,
            "firmware": EVIL,
            "board": EVIL,
            "serial": EVIL,
            "epoch": 1,
            "first_seq": 0,
            "next_seq": 2,
            "free": 0,
            "torn": 0,
            "home": EVIL,
        },
        "clock": {"was_unix_s": 0, "meter_ms": 0},
        "pull": {"records": data, "next_seq": 2},
        "acknowledge": {"freed": 0xFFFFFFFF},
    }
    return frames.pack(number, messages.answer(name, answers[name]))


def test_text_from_a_hostile_meter_never_acts_on_a_terminal(capsys, ledger):
    with Cable(Script(hostile)) as cable:
        said = [shown(capsys, *line, "--port", cable.port) for line in (["pull"], ["find"])]
        assert run(["find", "--port", cable.port, "--json"]) == 0
        said.append(capsys.readouterr().out)
    said += [shown(capsys, *line) for line in (["survey", "list"], ["survey", "show"])]
    for text in said:
        assert "evil" in text
        assert all(sign == "\n" or " " <= sign < "\x7f" or sign == "±" for sign in text)
    for command in ("plan", "sheet"):
        code, _, err = called(capsys, command)
        assert code == 2
        assert "no instrument ../../../etc" in one_line(err)


def test_a_refusal_from_a_hostile_meter_is_cleaned(capsys, ledger):
    def refuse(line):
        number, body = frames.unpack(line)
        if body.startswith("pull"):
            return frames.pack(number, messages.refusal(messages.WireError("store", EVIL)))
        return hostile(line)

    with Cable(Script(refuse)) as cable:
        code, _, err = called(capsys, "pull", "--port", cable.port)
    assert code == 4
    assert "\x1b" not in one_line(err) and "\u202e" not in err and "evil" in err


def test_progress_only_on_a_terminal(capsys, ledger, firmware, monkeypatch):
    monkeypatch.setattr("sys.stderr.isatty", lambda: True, raising=False)
    with Cable(firmware) as cable:
        assert run(["pull", "--port", cable.port]) == 0
    out, err = capsys.readouterr()
    assert "pulling record 100 of 100" in err
    assert "pulling" not in out


def test_the_ledger_is_looked_at_before_the_meter(capsys, tmp_path):
    code, _, err = called(capsys, "pull", "--port", "/dev/no-such-port", "--ledger", tmp_path)
    assert code == 1
    assert "is a folder" in one_line(err)
    assert os.listdir(tmp_path) == []
