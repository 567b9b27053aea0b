"""Ports that are no meters, and meters that mean harm: one line, soon, and nothing wrong in the ledger."""

import itertools
import os
import time

import pytest
from host_cable import Cable, Firmware, Flood, Script
from reedbench import link
from reedbench import pull as pulling
from reedbench.__main__ import run
from reedbench.errors import LinkFault, NoMeter
from reedbench.firmware.wire import frames, messages, record
from reedbench.ledger import Ledger
from reedbench.link import Link, converse, greet
from reedbench.port import open_port

HELLO = {
    "protocol": 1,
    "firmware": "0.1.0",
    "board": "bench",
    "serial": "e6614103e7452d2f",
    "epoch": 7,
    "first_seq": 0,
    "next_seq": 1,
    "free": 1000,
    "torn": 0,
    "home": "",
}


def no_meter(peer):
    """What `converse` says about a port with `peer` behind it, and after how many seconds."""
    began = time.monotonic()
    with Cable(peer) as cable, pytest.raises(NoMeter) as caught, converse(cable.port, "ledger"):
        pass
    text = str(caught.value)
    assert "\n" not in text and cable.port in text
    return text, time.monotonic() - began


def test_a_silent_port_is_given_up_within_seconds():
    text, seconds = no_meter(Script(lambda line: b""))
    assert "nothing answers" in text
    assert seconds < 6


@pytest.fixture
def hurried(monkeypatch):
    """Gives up sooner, for what differs only in what is heard meanwhile."""
    monkeypatch.setattr(link, "HELLO_S", 0.3)


@pytest.mark.usefixtures("hurried")
@pytest.mark.parametrize(
    ("peer", "says"),
    [
        (lambda: Script(lambda line: line), "is not a meter"),
        (lambda: Script(lambda line: bytes(range(256)) + b"\n"), "is not a meter"),
        (lambda: Script(lambda line: b"OK\r\n"), "is not a meter"),
        (
            lambda: Script(lambda line: line + b"Traceback\r\nSyntaxError: invalid syntax\r\n>>> \n"),
            "MicroPython's prompt",
        ),
        (lambda: Flood(b"$GPGGA,123519,4807.038,N\r\n"), "is not a meter"),
        (lambda: Flood(b"x" * 4096 + b"\n"), "is not a meter"),
    ],
)
def test_a_port_that_is_not_a_meter(peer, says):
    text, seconds = no_meter(peer())
    assert says in text
    assert seconds < 1.5


def test_a_port_that_does_not_exist():
    with pytest.raises(NoMeter, match="there is no port"), converse("/dev/no-such-port", ""):
        pass


@pytest.mark.parametrize("path", [os.devnull, "/", __file__])
def test_a_path_that_is_no_port(path):
    with pytest.raises(NoMeter, match="not a serial port"), converse(path, ""):
        pass


def test_a_port_that_another_program_holds():
    with (
        Cable(Script(lambda line: b"")) as cable,
        open_port(cable.port),
        pytest.raises(NoMeter, match="another program is using"),
        converse(cable.port, ""),
    ):
        pass


class Liar:
    """A meter that greets as `hello` says; other requests get the bodies that `answers` yields."""

    def __init__(self, answers=(), **hello):
        self._answers = iter(answers)
        self._hello = {**HELLO, **hello}

    def __call__(self, line):
        number, body = frames.unpack(line)
        if body.startswith("hello"):
            return frames.pack(number, messages.answer("hello", self._hello))
        if body.startswith("clock"):
            return frames.pack(number, messages.answer("clock", {"was_unix_s": 0, "meter_ms": 0}))
        if body.startswith("acknowledge"):
            return frames.pack(number, messages.answer("acknowledge", {"freed": 0}))
        return frames.pack(number, next(self._answers))


def answer(data, next_seq):
    return messages.answer("pull", {"records": data, "next_seq": next_seq})


def end(sequence):
    return record.pack("end", sequence, {"survey": 0, "unix_s": 0})


def survey(sequence, name, instrument="00112233445566aa"):
    values = {field: 0 for field, _ in record.SURVEY}
    values.update(instrument=instrument, name=name, layout="solo-12", reference_mhz=440000, tolerance_cc=200)
    return record.pack("survey", sequence, values)


EVIL = "\x1b[2J<b>../..\u202e\x07"


def test_what_a_meter_calls_itself_reaches_neither_terminal_nor_path(tmp_path, monkeypatch, capsys):
    """Escape sequences, HTML, paths and overrides in every text that a meter may send."""
    monkeypatch.chdir(tmp_path)
    texts = {"firmware": EVIL, "board": EVIL, "serial": EVIL, "home": EVIL}
    take = {field: 0 for field, _ in record.TAKE}
    take |= {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32, "flags": 0xFFFF, "uhz": 440_000_000}
    bodies = [answer(survey(0, EVIL, "../../../etc/x") + record.pack("take", 1, take) + end(2), 3)]
    printed = ""
    for command in ("find", "pull", "survey list", "survey show", "plan", "sheet", "export takes"):
        with Cable(Script(Liar(list(bodies), next_seq=3, **texts))) as cable:
            port = ["--port", cable.port] if command in ("find", "pull") else []
            for form in ([], ["--json"]) if command != "pull" else ([],):
                code = run([*command.split(), *port, "--ledger", str(tmp_path / "ledger.db"), *form])
                out, err = capsys.readouterr()
                assert code in (0, 2) and "Traceback" not in err, command
                assert err.count("\n") <= 1
                printed += out + err
    assert not any(sign in printed for sign in "\x1b\x07\u202e")
    assert "<b>../.." in printed, "nothing of it was shown: the test shows nothing"
    assert sorted(one.name for one in tmp_path.iterdir()) == ["ledger.db", "survey-1-takes.csv"]


@pytest.mark.usefixtures("hurried")
@pytest.mark.parametrize("field", [one.name for one in messages.MESSAGES["hello"].answer])
@pytest.mark.parametrize(
    "value", ["", "NaN", "-1", "1e9", "0x10", "9" * 13, "99999999999", "~", "~zz", "~ff", "a" * 900]
)
def test_a_hello_with_any_field_spoilt_is_refused_or_harmless(field, value):
    """In one line, at once, and with nothing believed that the table of messages does not allow."""

    def spoilt(line):
        number, _ = frames.unpack(line)
        words = messages.answer("hello", HELLO).split(" ")
        words = [f"{field}={value}" if word.startswith(f"{field}=") else word for word in words]
        head = b"%%%04x %s" % (number, " ".join(words).encode())
        return head + b" *%08x\n" % frames.crc32(head)

    with Cable(Script(spoilt)) as cable, open_port(cable.port) as port:
        try:
            meter = greet(Link(port, repeat_s=0.02), cable.port, "")
        except (LinkFault, NoMeter) as error:
            assert "\n" not in str(error) and len(str(error)) < 300
        else:
            assert (len(meter.serial), len(meter.home)) <= (32, 32) and 0 <= meter.next_sequence <= messages.U32


def pull_from(liar, path):
    with (
        Cable(Script(liar)) as cable,
        Ledger.open(path, write=True) as ledger,
        converse(cable.port, ledger.identity) as meter,
    ):
        return pulling.pull(meter, ledger)


def broken_crc(data):
    return data[:-1] + bytes((data[-1] ^ 1,))


@pytest.mark.parametrize(
    ("body", "says"),
    [
        (answer(broken_crc(end(0)), 1), "damaged record"),
        (answer(end(0)[:-3], 1), "damaged record"),
        (answer(end(0) + b"\xa7", 1), "damaged record"),
        (answer(end(5) + end(5), 6), "record 5 where 6"),
        (answer(end(5) + end(4), 6), "record 4 where 6"),
        (answer(end(5), 3), "do not go on"),
        ("no code=store text=flash~20failed", "flash failed"),
        ("ok records=!!! next_seq=1", "not base64"),
        ("ok records= next_seq=NaN", "not a number"),
        ("ok records= next_seq=99999999999999999999", "not a number"),
        ("ok next_seq=1", "number of fields"),
        ("yes", "neither ok nor no"),
    ],
)
def test_a_meter_that_answers_nonsense(tmp_path, body, says):
    with pytest.raises(LinkFault, match=says):
        pull_from(Liar([body], next_seq=10), tmp_path / "ledger.db")


def test_a_meter_with_a_newer_protocol_or_no_serial_number(tmp_path):
    with pytest.raises(LinkFault, match="newer than this program"):
        pull_from(Liar(protocol=messages.PROTOCOL + 1), tmp_path / "ledger.db")
    with pytest.raises(LinkFault, match="no serial number"):
        pull_from(Liar(serial=""), tmp_path / "ledger.db")


def test_endless_records_end(tmp_path, monkeypatch):
    monkeypatch.setattr(pulling, "PULL_MOST", 20_000)
    numbers = itertools.count()

    def bodies():
        while True:
            data = b"".join(end(next(numbers)) for _ in range(30))
            yield answer(data, record.sequence_of(data, len(data) - len(end(0))) + 1)

    with pytest.raises(LinkFault, match="more than a meter's memory"):
        pull_from(Liar(bodies(), next_seq=messages.U32), tmp_path / "ledger.db")
    assert next(numbers) * len(end(0)) < 22_000


def test_a_meter_that_has_nothing_to_give_though_it_said_so(tmp_path):
    pulled = pull_from(Liar([answer(b"", 10)], next_seq=10), tmp_path / "ledger.db")
    assert (pulled.kept.records, pulled.missing) == (0, 10)


@pytest.mark.usefixtures("hurried")
def test_a_meter_that_answers_others_and_never_us():
    def other(line):
        number, _ = frames.unpack(line)
        return frames.pack(number + 1, messages.answer("hello", HELLO)) * 50

    began = time.monotonic()
    with Cable(Script(other)) as cable, pytest.raises(NoMeter), converse(cable.port, ""):
        pass
    assert time.monotonic() - began < 1.5


def test_a_meter_whose_memory_was_put_back_is_refused(tmp_path):
    path = tmp_path / "ledger.db"
    pull_from(Liar([answer(end(0) + end(1), 2)], next_seq=2), path)
    with pytest.raises(LinkFault, match="older copy"):
        pull_from(Liar(next_seq=1), path)


def test_records_of_unknown_kind_and_unreadable_ones_are_kept_as_they_came(tmp_path):
    head = b"\xa7\x63\x02\x00\x01\x00\x00\x00"
    unknown = head + b"hi" + frames.crc32(head + b"hi").to_bytes(4, "little")
    short = b"\xa7\x04\x00\x00\x02\x00\x00\x00"
    short += frames.crc32(short).to_bytes(4, "little")
    path = tmp_path / "ledger.db"
    pulled = pull_from(Liar([answer(survey(0, "a") + unknown + short, 3)], next_seq=3), path)
    assert (pulled.kept.records, pulled.kept.unread, pulled.missing) == (3, 2, 0)
    with Ledger.open(path) as ledger:
        kept = [row["raw"] for row in ledger._all("SELECT raw FROM records ORDER BY sequence")]
    assert kept == [survey(0, "a"), unknown, short]


def test_a_busy_meter_is_asked_again(tmp_path):
    busy = "no code=busy text=in~20a~20take"
    pulled = pull_from(Liar([busy, busy, answer(end(0), 1)]), tmp_path / "ledger.db")
    assert pulled.kept.records == 1


def test_two_meters_with_the_same_numbers_do_not_mix(tmp_path):
    path = tmp_path / "ledger.db"
    for serial, epoch in (("a", 1), ("b", 1), ("a", 2)):
        body = answer(survey(0, f"{serial}{epoch}"), 1)
        assert pull_from(Liar([body], serial=serial, epoch=epoch), path).kept.records == 1
    with Ledger.open(path) as ledger:
        assert [(one.meter, one.epoch, one.name) for one in ledger.surveys()] == [
            ("a", 1, "a1"),
            ("b", 1, "b1"),
            ("a", 2, "a2"),
        ]


def test_a_firmware_in_the_middle_of_noise_still_says_hello(tmp_path):
    """Bytes left over from before, such as half a line, do not spoil the first request."""
    root = tmp_path / "meter"
    root.mkdir()
    firmware = Firmware(root)

    def noisy(line, count):
        return b"\x00\xffboot: ready\r\n%12" + line

    with Cable(firmware, to_host=noisy) as cable, open_port(cable.port) as port:
        assert greet(Link(port), cable.port, "").serial == "e6614103e7452d2f"
    firmware.close()
