"""The host's side of the link: ask, repeat until answered, and begin a conversation.

Nothing that comes back is trusted: a request listens for a bounded time, holds at most one line at a time,
and believes only a whole line under its own number.
"""

import secrets
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import serial

from reedbench.errors import BadInput, LinkFault, NoMeter
from reedbench.firmware.wire import frames, messages
from reedbench.firmware.wire.errors import WireError
from reedbench.port import open_port

REPEAT_S = 0.7  # an answer normally takes milliseconds; after this long the line was lost
PATIENCE_S = 10.0  # a meter may be busy with a tone and its arithmetic, or with erasing memory
HELLO_S = 4.0  # a port that has said nothing for so long is not a meter
BUSY_S = 0.3
READ_MOST = 4096
CLOCK_FROM = 1_600_000_000  # a computer that believes to be before this has no clock worth telling
PROMPT = b">>>"


class Silent(LinkFault):
    """No answer that could be understood came within the time given."""


class Link:
    """A conversation over an open port. `repeat_s` and `patience_s` in seconds."""

    def __init__(self, port: serial.Serial, repeat_s: float = REPEAT_S, patience_s: float = PATIENCE_S) -> None:
        self._port = port
        self._repeat_s = repeat_s
        self._patience_s = patience_s
        self._reader = frames.LineReader()
        # A random start, lest a meter take our first request for a repeat of another program's last.
        self._number = secrets.randbelow(0x10000)
        self.heard = False
        self.prompt = False
        self._tail = b""

    def request(self, name: str, /, **values: Any) -> dict[str, Any]:
        """Ask `name` with `values` (wire.messages) and return the answer's values.

        Raises LinkFault when the meter refuses, answers nonsense, is silent or gone; BadInput when a value
        does not fit the message.
        """
        return self.ask(name, values, self._patience_s)

    def ask(self, name: str, values: dict[str, Any], patience_s: float) -> dict[str, Any]:
        """`request` with its own patience."""
        try:
            body = messages.ask(name, values)
        except WireError as error:
            raise BadInput(f"this does not fit the meter: {error.text}") from error
        deadline = time.monotonic() + patience_s
        while True:
            try:
                answer: dict[str, Any] = messages.read_answer(name, self._exchange(body, deadline))
                return answer
            except WireError as error:
                if error.code != "busy" or time.monotonic() + BUSY_S > deadline:
                    raise LinkFault(f"the meter refused `{name}`: {error.text}") from error
                time.sleep(BUSY_S)

    def _exchange(self, body: str, deadline: float) -> str:
        """Send `body` under the next number, again and again, until its answer's body comes."""
        self._number = (self._number + 1) & 0xFFFF
        line = frames.pack(self._number, body)
        while time.monotonic() < deadline:
            try:
                self._port.write(line)
                answer = self._listen(body, min(deadline, time.monotonic() + self._repeat_s))
            except serial.SerialTimeoutException:
                continue
            except OSError as error:
                raise LinkFault("the meter was unplugged or switched off") from error
            if answer is not None:
                return answer
        raise Silent("the meter does not answer: is it on? Unplug it, plug it in and try again")

    def _listen(self, asked: str, until: float) -> str | None:
        """Body of the line that answers the present number, or None when none came in time."""
        while time.monotonic() < until:
            data = self._port.read(min(max(self._port.in_waiting, 1), READ_MOST))
            self.heard = self.heard or bool(data)
            self.prompt = self.prompt or PROMPT in self._tail + data
            self._tail = (self._tail + data)[1 - len(PROMPT) :]
            for line in self._reader.feed(data):
                try:
                    number, body = frames.unpack(line)
                except WireError:
                    continue
                # Our own line comes back from a port that echoes.
                if number == self._number and body != asked:
                    return str(body)
        return None


@dataclass(frozen=True)
class Meter:
    """A meter that has said hello, and the link to it. Sequence numbers and bytes as at that moment."""

    link: Link
    port: str
    serial: str
    board: str
    firmware: str
    protocol: int
    epoch: int
    first_sequence: int
    next_sequence: int
    free_bytes: int
    torn: int
    home: str

    def records_from(self, sequence: int) -> int:
        """How many of the meter's records have that number or a later one."""
        return max(0, self.next_sequence - max(self.first_sequence, sequence))


def greet(link: Link, port: str, ledger: str) -> Meter:
    """First request of every conversation. `ledger` is the asking ledger's identity, or "" for none.

    Raises NoMeter where nothing on the port speaks the protocol, LinkFault for a meter that cannot be used.
    """
    try:
        hello = link.ask("hello", {"protocol": messages.PROTOCOL, "ledger": ledger}, HELLO_S)
    except Silent as error:
        raise _no_meter(link, port) from error
    except LinkFault as error:
        if isinstance(error.__cause__, WireError) and error.__cause__.code in ("bad", "unknown"):
            raise LinkFault(
                "the meter's firmware speaks another protocol than this program: bring both to the same version",
                kind="version",
            ) from error
        raise
    if hello["protocol"] > messages.PROTOCOL:
        raise LinkFault("the meter's firmware is newer than this program: update reedbench", kind="version")
    if not hello["serial"]:
        raise LinkFault(
            "the meter has no serial number, so its records could not be told from another's", kind="no serial number"
        )
    return Meter(
        link=link,
        port=port,
        serial=hello["serial"],
        board=hello["board"],
        firmware=hello["firmware"],
        protocol=hello["protocol"],
        epoch=hello["epoch"],
        first_sequence=hello["first_seq"],
        next_sequence=hello["next_seq"],
        free_bytes=hello["free"],
        torn=hello["torn"],
        home=hello["home"],
    )


def _no_meter(link: Link, port: str) -> NoMeter:
    if link.prompt:
        return NoMeter(
            f"{port} is a board at MicroPython's prompt: restart it, or install the meter's firmware", kind="prompt"
        )
    if link.heard:
        return NoMeter(f"what is connected to {port} is not a meter", kind="stranger")
    return NoMeter(f"nothing answers on {port}: if it is a meter, switch it off and on and try again", kind="silent")


@contextmanager
def converse(port: str, ledger: str) -> Iterator[Meter]:
    """Open `port`, say hello for `ledger` and tell the meter the time; closes the port at the end."""
    with open_port(port) as opened:
        meter = greet(Link(opened), port, ledger)
        now = int(time.time())
        if now >= CLOCK_FROM:
            meter.link.request("clock", unix_s=now)
        yield meter
