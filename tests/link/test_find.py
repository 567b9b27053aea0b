"""`reedbench find` over boards of every sort at once: what each is, and what to do about it."""

import errno
import json
import os
import pwd
from types import SimpleNamespace

import pytest
import serial
from host_cable import Cable, Firmware, Script
from reedbench import __version__, link, port
from reedbench.__main__ import run
from reedbench.commands import find
from reedbench.errors import NoMeter
from reedbench.firmware.wire import frames, messages
from reedbench.ledger import Ledger
from reedbench.port import Candidate, open_port
from test_host_strangers import HELLO


@pytest.fixture
def ledger(tmp_path, monkeypatch):
    path = tmp_path / "ledger.db"
    monkeypatch.setenv("REEDBENCH_LEDGER", str(path))
    monkeypatch.setattr(link, "HELLO_S", 0.4)
    return path


@pytest.fixture
def firmware(tmp_path):
    root = tmp_path / "meter"
    root.mkdir()
    meter = Firmware(root, reeds=12)
    yield meter
    meter.close()


@pytest.fixture
def connected(monkeypatch):
    def arrange(*ports):
        monkeypatch.setattr(find, "candidates", lambda: [Candidate(one, None) for one in ports])

    return arrange


def says(**hello):
    """A meter that greets with what is changed in a usual greeting."""
    return lambda line: frames.pack(frames.unpack(line)[0], messages.answer("hello", {**HELLO, **hello}))


def older(line):
    """A meter whose greeting has other fields, as a firmware of another protocol would."""
    return frames.pack(frames.unpack(line)[0], "ok protocol=1 firmware=0.0.1 serial=e66")


def refuses(line):
    return frames.pack(frames.unpack(line)[0], messages.refusal(messages.WireError("unknown", "no such request")))


def test_everything_at_once(capsys, ledger, firmware, connected):
    peers = {
        "prompt": Script(lambda line: b">>> " + line),
        "stranger": Script(lambda line: b"login:\n"),
        "silent": Script(lambda line: b""),
        "newer": Script(says(protocol=messages.PROTOCOL + 1)),
        "older": Script(older),
        "refuses": Script(refuses),
        "nameless": Script(says(serial="")),
        "update": Script(says(firmware="9.9.9", serial="other", home="elsewhere")),
        "busy": Script(lambda line: b""),
    }
    cables = {name: Cable(peer) for name, peer in peers.items()}
    try:
        with Cable(firmware) as meter, open_port(cables["busy"].port):
            ports = {name: cable.port for name, cable in cables.items()}
            connected(meter.port, *ports.values(), "/dev/gone")
            with Ledger.open(ledger, write=True):
                pass
            assert run(["find", "--json"]) == 0
            told = json.loads(capsys.readouterr().out)
            assert run(["find"]) == 0
            lines = capsys.readouterr().out.splitlines()
            assert run(["pull", "--port", meter.port, "--quiet"]) == 0
            capsys.readouterr()
            assert run(["find", "--json"]) == 0
            after = json.loads(capsys.readouterr().out)
    finally:
        for cable in cables.values():
            cable.__exit__()
    first, second = told["meters"]
    assert (first["meter"], first["records"], first["same_version"], first["home"]) == (
        "e6614103e7452d2f",
        1 + 24 + 2 + 1,
        True,
        "",
    )
    assert (second["meter"], second["same_version"], second["is_home"]) == ("other", False, False)
    assert not first["is_home"] and after["meters"][0]["is_home"]
    what = {one["port"]: one["what"] for one in told["others"]}
    assert {name: what[ports[name]] for name in ports if ports[name] in what} == {
        "prompt": "MicroPython's prompt",
        "stranger": "something else",
        "silent": "silent",
        "newer": "meter of another version",
        "older": "meter of another version",
        "refuses": "meter of another version",
        "nameless": "meter without a serial number",
        "busy": "in use",
    }
    assert what["/dev/gone"] == "not there"
    whys = {one["port"]: one["why"] for one in told["others"]}
    assert "update reedbench" in whys[ports["newer"]] and "same version" in whys[ports["older"]]
    assert "modem manager" in whys[ports["busy"]] and "restart it" in whys[ports["prompt"]]
    assert not [line for line in lines if len(line) > 80]
    about = "\n".join(lines).replace("\n  ", " ")
    assert all(f"{port}: {what[port]}: {why}" in about for port, why in whys.items())
    assert f"{meter.port}: meter e6614103e7452d2f, board " in about and "28 records in it, 28 of them not in" in about
    assert about.count("home ledger: none yet") == 1 and about.count("home ledger: another") == 1
    assert f"`reedbench install` brings the firmware of this program, {__version__}" in about


def test_none_that_can_be_used_is_code_3_with_the_reasons(capsys, ledger, connected):
    with Cable(Script(lambda line: b">>> " + line)) as board:
        connected(board.port)
        assert run(["find"]) == 3
        out, err = capsys.readouterr()
        assert out == "" and "MicroPython's prompt" in err and err.count("\n") == 1
        assert run(["find", "--json"]) == 3
        out, err = capsys.readouterr()
        assert json.loads(out)["others"][0]["what"] == "MicroPython's prompt" and err.count("\n") == 1


def test_a_ledger_that_cannot_be_read_hides_no_meter(capsys, ledger, firmware, connected):
    ledger.write_text("no ledger at all")
    with Cable(firmware) as meter:
        connected(meter.port)
        assert run(["find"]) == 0
        out, err = capsys.readouterr()
        assert "e6614103e7452d2f" in out and "is not a ledger" in err
        assert run(["find", "--quiet"]) == 0
        assert capsys.readouterr().err == ""


@pytest.mark.parametrize(
    ("platform", "number", "text", "kind", "cure"),
    [
        ("linux", errno.EACCES, "x", "forbidden", "sudo usermod -aG dialout"),
        ("linux", errno.EBUSY, "x", "busy", "modem manager"),
        ("linux", errno.EAGAIN, "x", "busy", "modem manager"),
        ("linux", errno.ENOENT, "x", "gone", "data cable"),
        ("linux", errno.EINVAL, "x", "no port", "not a serial port"),
        (
            "win32",
            None,
            "could not open port 'COM3': PermissionError(13, 'Access is denied.', None, 5)",
            "busy",
            "close",
        ),
        ("win32", None, "could not open port 'COM9': FileNotFoundError(2, 'x', None, 2)", "gone", "data cable"),
    ],
)
def test_each_reason_not_to_open_a_port_has_its_cure(monkeypatch, platform, number, text, kind, cure):
    """Error texts as pyserial words them, from its sources (serialwin32.py, serialposix.py)."""

    def refuse(*_, **__):
        error = serial.SerialException(text)
        error.errno = number
        raise error

    monkeypatch.setattr(port.sys, "platform", platform)
    monkeypatch.setattr(port.serial, "Serial", refuse)
    monkeypatch.setattr(port, "_group", lambda device: ("dialout", False))
    with pytest.raises(NoMeter, match=cure) as caught:
        open_port("/dev/ttyACM0")
    assert caught.value.kind == kind


def test_a_new_member_of_the_group_is_told_to_log_in_again(monkeypatch, tmp_path):
    grp = pytest.importorskip("grp")
    me = pwd.getpwuid(os.getuid()).pw_name
    device = tmp_path / "ttyACM0"
    device.write_text("")
    for group, members, says in (
        ("dialout", [], "sudo usermod -aG dialout"),
        ("uucp", ["somebody", me], "group uucp since you last logged in"),
        ("root", [], "udev rule"),
    ):
        entry = SimpleNamespace(gr_name=group, gr_mem=members)
        monkeypatch.setattr(grp, "getgrgid", lambda number, entry=entry: entry)
        assert says in str(port._forbidden(str(device)))
