"""From the firmware to the prompt: what is asked before, by whatever answers on the port, or does not."""

from collections.abc import Callable

import pytest
from host_cable import Cable, Script
from reedbench import finding, handover, link
from reedbench.__main__ import run
from reedbench.errors import BadInput, Failed, NoMeter
from reedbench.firmware.wire import frames, messages
from reedbench.handover import hand_over, take_back
from reedbench.port import Candidate, open_port
from test_host_strangers import HELLO


@pytest.fixture(autouse=True)
def impatient(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(link, "HELLO_S", 0.4)
    monkeypatch.setattr(handover, "SILENCE_S", 0.0)
    monkeypatch.setattr(handover, "START_S", 1.0)


class Meter(Script):
    """Greets, says what it is doing, and leaves."""

    def __init__(self, doing: str, done: int, board: str = "pico") -> None:
        super().__init__(self.reply)
        self.asked: list[str] = []
        self._hello = HELLO | {"board": board}
        self._status = {"doing": doing, "done": done, "of": 64, "heap_free": 60_000}

    def reply(self, line: bytes) -> bytes:
        if b"%" not in line:
            return b""
        number, body = frames.unpack(line[line.index(b"%") :])  # before the first there is a Ctrl-B
        self.asked.append(body.split(" ")[0])
        values = {"hello": self._hello, "status": self._status, "leave": {}}[self.asked[-1]]
        return bytes(frames.pack(number, messages.answer(self.asked[-1], values)))


class Questions:
    """Notes what is asked, and says no if so told."""

    def __init__(self, answer: bool = True) -> None:
        self.asked: list[str] = []
        self._answer = answer

    def __call__(self, question: str) -> None:
        self.asked.append(question)
        if not self._answer:
            raise Failed("no")


@pytest.mark.parametrize(
    ("doing", "done", "asks"), [("idle", 0, 0), ("survey", 0, 0), ("surveyed", 64, 0), ("survey", 12, 1)]
)
def test_a_meter_is_asked_about_only_in_the_middle_of_a_survey(doing: str, done: int, asks: int) -> None:
    may, peer = Questions(), Meter(doing, done)
    with Cable(peer) as cable:
        before = hand_over(cable.port, may)
    assert before and before.serial == HELLO["serial"] and peer.asked == ["hello", "status", "leave"]
    assert len(may.asked) == asks and all("12 of 64 reeds" in question for question in may.asked)


def test_where_the_answer_is_no_the_meter_goes_on() -> None:
    peer = Meter("survey", 12)
    with Cable(peer) as cable, pytest.raises(Failed, match="no"):
        hand_over(cable.port, Questions(False))
    assert "leave" not in peer.asked


def test_a_desk_meter_is_left_alone() -> None:
    peer = Meter("idle", 0, "desk")
    with Cable(peer) as cable, pytest.raises(BadInput, match="is a desk meter, which needs nothing installed"):
        hand_over(cable.port, Questions())
    assert peer.asked == ["hello"]


@pytest.mark.parametrize(
    ("says", "asks"),
    [(lambda line: b">>> " + line, 0), (lambda line: b"21.5 degrees\n", 1), (lambda line: b"", 1)],
    ids=["prompt", "another program", "silent"],
)
def test_a_board_that_is_no_meter_is_asked_about_unless_it_waits_at_the_prompt(
    says: Callable[[bytes], bytes], asks: int
) -> None:
    may = Questions()
    with Cable(Script(says)) as cable:
        assert hand_over(cable.port, may) is None
    assert len(may.asked) == asks


def test_a_port_that_cannot_be_used_is_refused() -> None:
    with Cable(Script(lambda line: b"")) as cable, open_port(cable.port), pytest.raises(NoMeter) as caught:
        hand_over(cable.port, Questions())
    assert caught.value.kind == "busy"


def test_a_firmware_that_does_not_answer_after_it_was_installed_is_said() -> None:
    with Cable(Script(lambda line: b">>> " + line)) as cable, pytest.raises(Failed) as caught:
        take_back(cable.port)
    assert "whole, but does not answer" in str(caught.value)


def test_without_a_board_there_is_nothing_to_install_on(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(finding, "candidates", list)
    assert run(["install"]) == 3
    assert "no meter is connected" in capsys.readouterr().err
    monkeypatch.setattr(finding, "candidates", lambda: [Candidate("A", None), Candidate("B", None)])
    assert run(["install"]) == 2
    assert "several boards are connected (A, B)" in capsys.readouterr().err
