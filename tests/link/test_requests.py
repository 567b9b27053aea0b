"""Every request of the link's table, over a pty, to the meter's own handlers on MicroPython."""

import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk import Desk
from reedbench.firmware.wire import messages, record
from reedbench.firmware.wire.errors import WireError


@pytest.fixture
def start(micropython_program: str, tmp_path: Path) -> Callable[..., Desk]:
    return lambda **settings: Desk(micropython_program, tmp_path / "flash", **settings)


@pytest.fixture
def meter(start: Callable[..., Desk]) -> Iterator[Desk]:
    with start(takes=110) as desk:
        yield desk


def refusal(meter: Desk, request: str, /, **values: Any) -> str:
    with pytest.raises(WireError) as caught:
        meter.ask(request, **values)
    return caught.value.code


def send(meter: Desk, key: str = "k1", alter: int = 0) -> dict[str, Any]:
    told = {"key": key, "name": "ü", "layout": "solo", "state": "plucked", "reeds": 2}
    told |= {"reference_mhz": 440000, "tolerance_cc": 100, "pass_number": 0}
    reed = {"target_uhz": 440000000, "place": "1", "breath": "blow", "slide": "", "plate": "upper", "member": ""}
    reeds = [{"ordinal": i} | reed for i in (1, 0)]
    bodies = messages.ask("instrument", told) + "".join(messages.ask("reed", reed) for reed in reeds)
    assert meter.ask("instrument", **told) == {}
    assert [meter.ask("reed", **reed) for reed in reeds] == [{}, {}]
    return meter.ask("instrument-end", check=zlib.crc32(bodies.encode()) ^ alter)


def pull_all(meter: Desk, room: int = messages.PULL_ROOM) -> list[int]:
    found: list[int] = []
    number = 0
    while True:
        answer = meter.ask("pull", from_seq=number, room=room)
        data = answer["records"]
        if not data:
            return found
        while data:
            found.append(record.unpack(data)[1])
            data = data[record.measure(data) :]
        number = answer["next_seq"]


def test_hello_says_who_is_there(meter: Desk) -> None:
    told = meter.ask("hello", protocol=1, ledger="here")
    assert 0 <= told.pop("epoch") <= 0xFFFFFFFF
    assert 1_000_000 < told.pop("free") < 352 * 4096
    assert told == {
        "protocol": 3, "firmware": "0.1.0", "board": "desk", "serial": "D1",
        "first_seq": 0, "next_seq": 110, "torn": 0, "home": "",
    }  # fmt: skip


def test_the_calendar_is_set_and_goes_on(meter: Desk) -> None:
    first = meter.ask("clock", unix_s=1_700_000_000)
    second = meter.ask("clock", unix_s=1_800_000_000)
    assert first["was_unix_s"] == 0
    passed_ms = second["meter_ms"] - first["meter_ms"]
    assert passed_ms > 0
    assert abs(second["was_unix_s"] - 1_700_000_000 - passed_ms / 1000) <= 1


def test_every_record_is_pulled_in_order(meter: Desk) -> None:
    assert pull_all(meter) == pull_all(meter, 200) == list(range(110))
    assert refusal(meter, "pull", from_seq=0, room=100) == "bad"


def test_only_the_home_ledger_frees_memory(meter: Desk) -> None:
    assert refusal(meter, "acknowledge", ledger="home", before_seq=111) == "bad"
    assert refusal(meter, "acknowledge", ledger="", before_seq=1) == "bad"
    assert meter.ask("acknowledge", ledger="home", before_seq=50) == {"freed": 0}
    assert meter.ask("acknowledge", ledger="other", before_seq=110) == {"freed": 0}
    assert pull_all(meter) == list(range(110))
    assert meter.ask("acknowledge", ledger="home", before_seq=110) == {"freed": 110 * 169}
    told = meter.ask("hello", protocol=1, ledger="other")
    assert (told["home"], told["first_seq"], told["next_seq"]) == ("home", 110, 110)
    assert pull_all(meter) == []


def test_another_ledger_can_be_made_the_home(meter: Desk) -> None:
    meter.ask("acknowledge", ledger="stolen laptop", before_seq=0)
    assert meter.ask("home", ledger="new laptop") == {}
    assert refusal(meter, "home", ledger="") == "bad"
    assert meter.ask("hello", protocol=1, ledger="x")["home"] == "new laptop"
    assert meter.ask("acknowledge", ledger="stolen laptop", before_seq=110) == {"freed": 0}
    assert pull_all(meter) == list(range(110))
    assert meter.ask("acknowledge", ledger="new laptop", before_seq=110) == {"freed": 110 * 169}


def test_an_instrument_is_stored_once_it_is_whole(meter: Desk) -> None:
    assert refusal(meter, "instrument-end", check=0) == "order"
    assert send(meter) == {"stored": 2}
    with pytest.raises(WireError, match="altered"):
        send(meter, alter=1)


def test_status_says_what_the_meter_is_doing(meter: Desk) -> None:
    told = meter.ask("status")
    assert 100_000 < told.pop("heap_free") < 4 << 20
    assert told == {"doing": "waiting", "done": 3, "of": 64}


def test_in_the_middle_of_a_take_what_would_write_is_put_off(start: Callable[..., Desk]) -> None:
    with start(takes=5, in_take=True) as meter:
        assert refusal(meter, "acknowledge", ledger="home", before_seq=1) == "busy"
        assert refusal(meter, "instrument-end", check=0) == "busy"
        assert refusal(meter, "home", ledger="home") == "busy"
        assert pull_all(meter) == list(range(5))
        assert meter.ask("hello", protocol=1, ledger="x")["home"] == ""


def test_leave_answers_before_it_ends_the_firmware(start: Callable[..., Desk]) -> None:
    with start() as meter:
        assert meter.ask("leave") == {}
        assert meter.process.wait(5) == 0


def test_power_off_and_on_again_keeps_journal_home_and_epoch(start: Callable[..., Desk]) -> None:
    with start(takes=3) as meter:
        before = meter.ask("hello", protocol=1, ledger="a")
        meter.ask("acknowledge", ledger="a", before_seq=1)
    with start(takes=1) as meter:
        after = meter.ask("hello", protocol=1, ledger="a")
        assert pull_all(meter) == [0, 1, 2, 3]
    assert after["epoch"] == before["epoch"]
    assert (before["home"], after["home"], after["next_seq"]) == ("", "a", 4)


def test_writing_stops_the_microphone_and_the_player_is_told_for_how_long(meter: Desk) -> None:
    meter.ask("acknowledge", ledger="home", before_seq=0)
    meter.ask("status")
    assert [request["lost_ms"] for request in meter.requests if "lost_ms" in request] == [50]
    counts = [request["count"] for request in meter.requests]
    assert counts == [160 * i for i in range(len(counts))]
