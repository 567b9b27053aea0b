"""Bring a meter's records into the ledger: fetch, verify, commit, and only then acknowledge.

Whatever breaks on the way, a record that has come whole is kept and is asked for no more; the meter frees its
memory only upon records that are on this computer's disk.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from reedbench.errors import LinkFault
from reedbench.firmware.wire import messages, record
from reedbench.ledger import Kept, Ledger, Sender
from reedbench.link import Meter

# As much as the whole flash of the largest board that a meter is built on: whoever sends more is no meter.
PULL_MOST = 4 << 20
ROOM_ONCE = 640  # of an answer, before protocol version 2


@dataclass(frozen=True)
class Pulled:
    """Outcome of a pull. `missing`: records that the meter no longer had or could not read when it was asked,
    `freed`: bytes that the meter has freed upon it."""

    kept: Kept
    missing: int
    freed: int


def pull(meter: Meter, ledger: Ledger, step: Callable[[int], None] = lambda done: None) -> Pulled:
    """Pull what `ledger` lacks. `step` is told how many records have come. Raises LinkFault, Failed."""
    sender = Sender(meter.serial, meter.epoch, meter.board, meter.firmware)
    wanted = ledger.next_sequence(meter.serial, meter.epoch)
    if wanted > meter.next_sequence:
        raise LinkFault(
            f"the meter's memory ends at record {meter.next_sequence}, but the ledger has {wanted} of it: "
            "an older copy of the memory must have been put back; nothing was pulled or freed"
        )
    # The last one that both have comes once more. `keep` refuses it if it is another: such a copy has gone on.
    again = 1 if meter.first_sequence < wanted else 0
    came: list[bytes] = []
    broken: LinkFault | None = None
    try:
        for raw in fetch(meter, wanted - again):
            came.append(raw)
            step(len(came) - again)
    except LinkFault as error:
        broken = error
    finally:
        # On the way out of a Ctrl-C too: what has come whole is kept.
        kept = ledger.keep(sender, came)
    if broken:
        raise LinkFault(f"{broken}; {_safe(kept.records)}, pull again for the rest") from broken
    ends = ledger.next_sequence(meter.serial, meter.epoch)
    try:
        freed = meter.link.request("acknowledge", ledger=ledger.identity, before_seq=ends)["freed"]
    except LinkFault as error:
        raise LinkFault(f"{error}; {_safe(kept.records)}, pull again to free the meter's memory") from error
    new = sum(record.sequence_of(raw) >= wanted for raw in came)
    return Pulled(kept, max(ends, meter.next_sequence) - wanted - new, freed)


def _safe(records: int) -> str:
    return f"{records} new records are safe in the ledger"


def fetch(meter: Meter, wanted: int) -> Iterator[bytes]:
    """The meter's records from number `wanted` on, each verified, in order, one by one.

    Raises LinkFault for records that are torn, out of order, or more than a meter can hold.
    """
    come = 0
    room = messages.PULL_ROOM if meter.protocol > 1 else ROOM_ONCE
    while wanted < meter.next_sequence:
        answer = meter.link.request("pull", from_seq=wanted, room=room)
        come += len(answer["records"])
        if come > PULL_MOST:
            raise LinkFault("the meter sends more than a meter's memory can hold")
        for raw in split(answer["records"]):
            sequence = record.sequence_of(raw)
            if sequence < wanted:
                raise LinkFault(f"the meter sent record {sequence} where {wanted} or a later one was asked for")
            wanted = sequence + 1
            yield raw
        if not answer["records"]:
            return
        if answer["next_seq"] < wanted:
            raise LinkFault("the meter's records do not go on from where they were")


def split(data: bytes) -> Iterator[bytes]:
    """The whole records that `data` consists of; raises LinkFault where it consists of anything else."""
    at = 0
    while at < len(data):
        size = record.measure(data, at)
        if not size:
            raise LinkFault("the meter sent a damaged record")
        yield data[at : at + size]
        at += size
