"""Which of the connected boards are meters? Only a handshake tells."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

from reedbench.errors import BadInput, LinkFault, NoMeter
from reedbench.link import Link, Meter, greet
from reedbench.port import candidates, open_port

NOBODY = ""  # `find` asks for no ledger
AT_ONCE = 8  # ports that are asked at the same time, since a silent one takes seconds

NONE_CONNECTED = "no meter is connected: plug it in with a data cable, or name its port with --port"

# What a port that is no usable meter turned out to be, by the kind of the refusal.
WHAT = {
    "busy": "in use",
    "forbidden": "no permission",
    "gone": "not there",
    "no port": "no serial port",
    "prompt": "MicroPython's prompt",
    "stranger": "something else",
    "silent": "silent",
    "version": "meter of another version",
    "no serial number": "meter without a serial number",
}


@dataclass(frozen=True)
class Other:
    """A board that may be a meter but cannot be used as one: what it is, and why with the cure."""

    port: str
    what: str
    why: str


def look(ports: list[str]) -> tuple[list[Meter], list[Other]]:
    """Say hello on each of `ports`: the meters found, and the others with the reason."""
    if not ports:
        return [], []
    with ThreadPoolExecutor(min(AT_ONCE, len(ports))) as crew:
        found = list(crew.map(_ask, ports))
    return [one for one in found if isinstance(one, Meter)], [one for one in found if isinstance(one, Other)]


def _ask(port: str) -> Meter | Other:
    try:
        with open_port(port) as opened:
            return greet(Link(opened), port, NOBODY)
    except (NoMeter, LinkFault) as error:
        return Other(port, WHAT.get(error.kind, "not usable"), str(error))


def the_meter(port: str | None) -> str:
    """The port to use: `port` if named, otherwise that of the only meter connected."""
    if port is not None:
        return port
    ports = [candidate.device for candidate in candidates()]
    if len(ports) == 1:
        return ports[0]
    if not ports:
        raise NoMeter(NONE_CONNECTED)
    meters, others = look(ports)
    if len(meters) == 1:
        return meters[0].port
    if not meters:
        raise NoMeter("; ".join(other.why for other in others))
    named = ", ".join(meter.port for meter in meters)
    raise BadInput(f"several meters are connected ({named}): choose one with --port")


def the_board(port: str | None) -> str:
    """The port to use, whatever runs on the board behind it: `port` if named, otherwise that of the only one."""
    ports = [port] if port is not None else [candidate.device for candidate in candidates()]
    if not ports:
        raise NoMeter(NONE_CONNECTED)
    if len(ports) > 1:
        raise BadInput(f"several boards are connected ({', '.join(ports)}): choose one with --port")
    return ports[0]
