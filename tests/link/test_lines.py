"""What the meter makes of lines that are noise, doubled, altered, too long or unknown."""

import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from desk import Desk
from reedbench.firmware.wire import frames, messages
from reedbench.firmware.wire.errors import WireError


@pytest.fixture
def meter(micropython_program: str, tmp_path: Path) -> Iterator[Desk]:
    with Desk(micropython_program, tmp_path / "flash", takes=2) as desk:
        yield desk


def clock(unix_s: int) -> str:
    return messages.ask("clock", {"unix_s": unix_s})


def test_a_repeated_request_is_answered_alike_and_done_once(meter: Desk) -> None:
    line = frames.pack(7, clock(1_700_000_000))
    meter.port.write(line)
    first = meter.lines(5)
    meter.port.write(line + line)
    assert meter.lines(5, 2) == first * 2
    assert messages.read_answer("clock", first[0][1])["was_unix_s"] == 0


def test_the_same_number_with_another_request_is_answered_afresh(meter: Desk) -> None:
    meter.port.write(frames.pack(7, clock(1_700_000_000)))
    meter.lines(5)
    meter.port.write(frames.pack(7, clock(1_800_000_000)))
    [(number, body)] = meter.lines(5)
    assert number == 7
    assert messages.read_answer("clock", body)["was_unix_s"] >= 1_700_000_000


def test_hello_is_answered_afresh_though_it_may_have_the_number_of_the_last(
    micropython_program: str, tmp_path: Path
) -> None:
    hello = frames.pack(1, messages.ask("hello", {"protocol": 1, "ledger": "a"}))
    with Desk(micropython_program, tmp_path / "flash", growing=True) as meter:
        found = set()
        until = time.monotonic() + 10
        while len(found) < 3 and time.monotonic() < until:
            meter.port.write(hello)
            found.add(messages.read_answer("hello", meter.lines(5)[0][1])["next_seq"])
    assert len(found) == 3


def test_noise_before_a_line_does_not_spoil_it(meter: Desk) -> None:
    good = frames.pack(8, "status")
    meter.port.write(b"\x00\xff\x1b[2Jnoise %%" + good)
    assert [number for number, _ in meter.lines(5)] == [8]
    meter.port.write(b">>> \r\n\x03\x04\r\n" + good.replace(b"\n", b"\r\n"))
    assert [number for number, _ in meter.lines(5)] == [8]


def test_a_line_that_any_bit_was_flipped_in_is_not_answered(meter: Desk) -> None:
    line = frames.pack(9, "status")
    for place in range(len(line) - 1):
        altered = bytearray(line)
        altered[place] ^= 1 << place % 7
        meter.port.write(altered)
    meter.port.write(b"\n")
    meter.port.write(frames.pack(10, "status"))
    assert [number for number, _ in meter.lines(5)] == [10]
    assert meter.lines(0.1) == []


def test_an_endless_line_is_dropped_and_the_next_one_is_heard(meter: Desk) -> None:
    for _ in range(20):
        meter.port.write(b"%0001 " + b"x" * 1000)
    meter.port.write(b"\n" + frames.pack(11, "status"))
    assert [number for number, _ in meter.lines(5)] == [11]


def test_a_line_may_come_in_pieces(meter: Desk) -> None:
    for byte in frames.pack(12, "status"):
        meter.port.write(bytes((byte,)))
    assert [number for number, _ in meter.lines(5)] == [12]


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("dance", "unknown"),
        ("", "unknown"),
        ("__init__", "unknown"),
        ("status now=1", "bad"),
        ("clock", "bad"),
        ("clock unix_s=-5", "bad"),
        ("clock unix_s=1e9", "bad"),
        ("clock  unix_s=1700000000", "bad"),
        ("leave now=1", "bad"),
        ("pull from_seq=0 room=641", "bad"),
        ("pull room=64 from_seq=0", "bad"),
        ("hello protocol=1 ledger=~zz", "bad"),
        ("hello protocol=1 ledger=~ff", "bad"),
        ("reed ordinal=0 target_uhz=440000000 place=1 breath=blow slide= plate=upper member=", "order"),
    ],
)
def test_a_request_that_cannot_be_carried_out_is_refused(meter: Desk, body: str, code: str) -> None:
    meter.port.write(frames.pack(13, body))
    [(number, answer)] = meter.lines(5)
    assert number == 13
    with pytest.raises(WireError) as caught:
        messages.read_answer("status", answer)
    assert caught.value.code == code
    meter.ask("status")
