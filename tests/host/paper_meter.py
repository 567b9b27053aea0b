"""A meter that is only a list of records: it answers the host's link without a process of its own."""

from collections.abc import Callable, Sequence

from reedbench.firmware.wire import frames, messages, record
from reedbench.link import Link, Meter, greet


class Paper:
    """As much of serial.Serial as reedbench.link uses. `acknowledged`: told what the ledger says is safe."""

    in_waiting = 0

    def __init__(self, records: Sequence[bytes], acknowledged: Callable[[int], None] = lambda before: None) -> None:
        self._records = records
        self._acknowledged = acknowledged
        self._answers: list[bytes] = []

    def write(self, line: bytes) -> None:
        number, body = frames.unpack(line)
        name, values = messages.read_ask(body)
        self._answers.append(frames.pack(number, messages.answer(name, getattr(self, name)(values))))

    def read(self, size: int) -> bytes:
        return self._answers.pop() if self._answers else b""

    def hello(self, values):
        return {
            "protocol": 1, "firmware": "0.1.0", "board": "paper", "serial": "paper", "epoch": 7, "first_seq": 0,
            "next_seq": len(self._records), "free": 0, "torn": 0, "home": "",
        }  # fmt: skip

    def pull(self, values):
        at, data = values["from_seq"], b""
        while at < len(self._records) and len(data) + len(self._records[at]) <= values["room"]:
            data += self._records[at]
            at += 1
        return {"records": data, "next_seq": at}

    def acknowledge(self, values):
        self._acknowledged(values["before_seq"])
        return {"freed": 0}


def paper_meter(
    records: Sequence[bytes], ledger: str, acknowledged: Callable[[int], None] = lambda before: None
) -> Meter:
    """The meter, with whom the host has just exchanged a hello."""
    assert all(record.measure(raw) == len(raw) for raw in records)
    return greet(Link(Paper(records, acknowledged)), "paper", ledger)  # type: ignore[arg-type]
