"""The desk meter sleeps as a real one does: its time goes on, keys and hosts wake it, the power can go."""

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest
from desk import HERE, Desk

ASLEEP = "Asleep"
AT_MS, WAKING_MS = 60_000, 62_000  # it has been left alone for a minute; the key


@pytest.fixture
def start(micropython_program: str, tmp_path: Path) -> Callable[..., Desk]:
    return lambda **settings: Desk(micropython_program, tmp_path / "flash", HERE / "sleepy.py", **settings)


@pytest.fixture
def meter(start: Callable[..., Desk]) -> Iterator[Desk]:
    with start() as desk:
        until_asleep(desk)
        yield desk


def shown(desk: Desk) -> list[list[str]]:
    return [request["words"] for request in desk.requests if "words" in request]


def until(what: Callable[[], bool], patience_s: float = 60) -> None:
    end = time.monotonic() + patience_s
    while not what():
        assert time.monotonic() < end, "it did not come"
        time.sleep(0.02)


def until_asleep(desk: Desk) -> None:
    until(lambda: bool(shown(desk)) and shown(desk)[-1][0] == ASLEEP)


def meter_ms(requests: list[dict[str, Any]]) -> float:
    return sum(request["need"] / 16 + request.get("lost_ms", 0) for request in requests)


def test_it_sleeps_after_its_time_and_a_key_leads_back(start: Callable[..., Desk]) -> None:
    with start(keys=[[1000, "down", "tap"], [WAKING_MS, "down", "tap"]]) as meter:
        until_asleep(meter)
        fell = len(meter.requests)
        until(lambda: shown(meter)[-1][0] != ASLEEP)
        asleep = [request for request in meter.requests if not request["need"]]
        assert shown(meter)[-1] == shown(meter)[-3], "the same line of the menu as before"
        assert AT_MS + 1000 <= meter_ms(meter.requests[:fell]) < AT_MS + 2000, "a minute after the last key"
        assert 900 < meter_ms(asleep) < 2000, "and its time went on until the other came"
        heard = len(meter.requests)
        until(lambda: len(meter.requests) > heard + 50)
        assert all(request["need"] for request in meter.requests[heard:]), "the microphone runs again"


def test_a_host_wakes_it(meter: Desk) -> None:
    assert meter.ask("hello", protocol=1, ledger="here")["board"] == "desk"
    until(lambda: shown(meter)[-1][0] != ASLEEP)
    assert meter.ask("status")["doing"] == "idle"
    heard = len(meter.requests)
    until(lambda: len(meter.requests) > heard + 50)
    assert all(request["need"] for request in meter.requests[heard:])


def test_the_power_can_go_while_it_sleeps(meter: Desk) -> None:
    began = time.monotonic()
    assert meter.cut_power() == 0
    assert time.monotonic() - began < 2
