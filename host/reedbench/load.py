"""Send an instrument to the meter, reed by reed in sounding order, and make sure that it has them all."""

from collections.abc import Callable, Sequence
from typing import Any

from reedbench.errors import BadInput, LinkFault
from reedbench.firmware.wire import frames, messages, record
from reedbench.firmware.wire.errors import WireError
from reedbench.instrument import Instrument
from reedbench.link import Link
from reedbench.together import Interval, pairs_of

_NAME_LONGEST = 40  # bytes, of the message's `name`


def load(
    link: Link,
    instrument: Instrument,
    state: str,
    pass_number: int,
    step: Callable[[int], None] = lambda done: None,
    control: int | None = None,
    work: Sequence[dict[str, Any]] = (),
    both: Interval | None = None,
) -> int:
    """Send `instrument` for a survey in `state` (wire.record.state_byte) after pass `pass_number`.

    Returns the number of reeds that the meter has stored, which is all that were sent. `step` is told how many have
    been sent. `control`: ordinal of the reed that opens the survey and is asked for again in its middle and at its end;
    only for a meter of protocol version 2 or newer. `work`: values of the messages of that name, of reeds that are
    sent, for a meter that knows them. `both`: pairs or octaves are to be heard together, so that only the base of each
    is sent; from version 3 on.
    Raises BadInput where the instrument does not fit the messages, LinkFault.
    """
    order = _with_control(instrument.sounding_order(), control) if both is None else bases(instrument, both)
    requests = _requests(instrument, order, state if both is None else f"{state}, {record.BOTH_WORDS}", pass_number)
    requests += [("work", values) for values in work]
    check = _check(requests)
    for sent, (name, values) in enumerate(requests):
        link.request(name, **values)
        step(sent)
    stored: int = link.request("instrument-end", check=check)["stored"]
    if stored != len(order):
        raise LinkFault(f"the meter stored {stored} reeds of {len(order)}: load the instrument again")
    return len(set(order))


def _check(requests: list[tuple[str, dict[str, Any]]]) -> int:
    """CRC-32 over the bodies; all are made before the first is sent, so that a bad one changes no meter."""
    try:
        bodies = "".join(messages.ask(name, values) for name, values in requests)
    except WireError as error:
        raise BadInput(f"this instrument does not fit the meter: {error.text}") from error
    check: int = frames.crc32(bodies.encode())
    return check


def bases(instrument: Instrument, both: Interval) -> list[int]:
    """The order of sounding of those that have a partner in that interval; of an octave the lower."""
    low_ones = {low.ordinal for low, _, interval in pairs_of(instrument) if interval is both}
    if not low_ones:
        raise BadInput(f"{instrument.name} has no {both.name}s of reeds that one place sounds together")
    return [ordinal for ordinal in instrument.sounding_order() if ordinal in low_ones]


def _requests(
    instrument: Instrument, order: list[int], state: str, pass_number: int
) -> list[tuple[str, dict[str, Any]]]:
    """The requests that carry these reeds of the instrument, the last one excepted: (name, values)."""
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
        if order.count(ordinal) > 1:  # the control reed, drawn in the row of the reeds that it stands among
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
