"""Send an instrument to the meter, reed by reed in sounding order, and make sure that it has them all."""

from collections.abc import Callable, Sequence
from typing import Any

from reedbench.errors import BadInput, LinkFault
from reedbench.firmware.wire import frames, messages, record
from reedbench.firmware.wire.errors import WireError
from reedbench.instrument import Instrument
from reedbench.link import Link

_NAME_LONGEST = 40  # bytes, of the message's `name`


def load(
    link: Link,
    instrument: Instrument,
    state: str,
    pass_number: int,
    step: Callable[[int], None] = lambda done: None,
    control: int | None = None,
    work: Sequence[dict[str, Any]] = (),
) -> int:
    """Send `instrument` for a survey in `state` (wire.record.state_byte) after pass `pass_number`.

    Returns the number of reeds that the meter has stored, which is all of them. `step` is told how many have
    been sent. `control`: ordinal of the reed that opens the survey and is asked for again in its middle and at its end;
    only for a meter of protocol version 2 or newer. `work`: values of the messages of that name, for a meter that knows
    them. Raises BadInput where the instrument does not fit the messages, LinkFault.
    """
    requests = _requests(instrument, state, pass_number, control)
    wanted = len(requests) - 1
    requests += [("work", values) for values in work]
    check = _check(requests)
    for sent, (name, values) in enumerate(requests):
        link.request(name, **values)
        step(sent)
    stored: int = link.request("instrument-end", check=check)["stored"]
    if stored != wanted:
        raise LinkFault(f"the meter stored {stored} reeds of {wanted}: load the instrument again")
    return len(instrument.reeds)


def _check(requests: list[tuple[str, dict[str, Any]]]) -> int:
    """CRC-32 over the bodies; all are made before the first is sent, so that a bad one changes no meter."""
    try:
        bodies = "".join(messages.ask(name, values) for name, values in requests)
    except WireError as error:
        raise BadInput(f"this instrument does not fit the meter: {error.text}") from error
    check: int = frames.crc32(bodies.encode())
    return check


def _requests(
    instrument: Instrument, state: str, pass_number: int, control: int | None
) -> list[tuple[str, dict[str, Any]]]:
    """The requests that carry the instrument, the last one excepted: (name, values)."""
    order = _with_control(list(instrument.sounding_order()), control)
    head = {
        "key": instrument.key_id,
        "name": record.clip(instrument.name, _NAME_LONGEST).decode(),
        "layout": instrument.layout.id,
        "state": state,
        "reeds": len(order),
        "reference_mhz": round(instrument.order.reference_hz * 1e3),
        "tolerance_cc": round(instrument.order.tolerance_cents * 1e2),
        "pass_number": pass_number,
    }
    reeds = [_reed(instrument, ordinal) for ordinal in order]
    for place, ordinal in enumerate(order):
        if ordinal == control:  # drawn in the row of the reeds that it stands among
            reeds[place]["plate"] = reeds[place - 1 if place else min(1, len(reeds) - 1)]["plate"]
    return [("instrument", head)] + [("reed", reed) for reed in reeds]


def _with_control(order: list[int], control: int | None) -> list[int]:
    """The order of sounding, with the control reed at its start, in its middle and at its end."""
    if control is None:
        return order
    rest = [ordinal for ordinal in order if ordinal != control]
    half = len(order) // 2
    return [control, *rest[: max(0, half - 1)], control, *rest[max(0, half - 1) :], control]


def _reed(instrument: Instrument, ordinal: int) -> dict[str, Any]:
    reed = instrument.reeds[ordinal]
    return {
        "ordinal": ordinal,
        "target_uhz": round(reed.target_hz * 1e6),
        "place": reed.place,
        "breath": reed.breath,
        "slide": reed.slide,
        "plate": reed.plate,
        "member": reed.member,
    }
