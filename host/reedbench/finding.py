"""Which of the connected boards are meters? Only a handshake tells."""

from dataclasses import dataclass

from reedbench.errors import BadInput, LinkFault, NoMeter
from reedbench.link import Link, Meter, greet
from reedbench.port import candidates, open_port

NOBODY = ""  # `find` asks for no ledger

NONE_CONNECTED = "no meter is connected: plug it in with a data cable, or name its port with --port"


@dataclass(frozen=True)
class Other:
    """A board that looks like a meter but did not answer as one, and why."""

    port: str
    why: str


def look(ports: list[str]) -> tuple[list[Meter], list[Other]]:
    """Say hello on each of `ports`: the meters found, and the others with the reason."""
    meters = []
    others = []
    for port in ports:
        try:
            with open_port(port) as opened:
                meters.append(greet(Link(opened), port, NOBODY))
        except (NoMeter, LinkFault) as error:
            others.append(Other(port, str(error)))
    return meters, others


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
