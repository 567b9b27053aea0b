"""From the running firmware to MicroPython's prompt, and back."""

import time
from collections.abc import Callable

from reedbench.errors import BadInput, Failed, LinkFault, NoMeter
from reedbench.finding import NOBODY
from reedbench.image import BOARDS
from reedbench.link import Link, Meter, greet
from reedbench.port import open_port

SILENCE_S = 6.0  # after which the firmware lets a Ctrl-C through again (boards/pico/port.py), and some
START_S = 60.0  # for the firmware to start on a board with a full memory, and plenty
_ASIDE = b"\r\x02"  # Ctrl-B: leaves the prompt for programs, in which an interrupted installation has left a board
# Refusals behind which a board stands that may be stopped; all others are of the port itself.
_STRANGE = ("silent", "stranger")
_OURS = ("prompt", "version", "no serial number")


def hand_over(port: str, may: Callable[[str], None]) -> Meter | None:
    """Makes the firmware leave; the meter as it was, or None where none answered as this program understands.

    `may` is asked, in words, before anything that somebody may not want; it raises where the answer is no.
    """
    try:
        with open_port(port) as opened:
            opened.write(_ASIDE)
            meter = greet(Link(opened), port, NOBODY)
            if meter.board not in BOARDS:
                raise BadInput(f"the meter on {port} is a {meter.board} meter, which needs nothing installed")
            status = meter.link.request("status")
            if status["doing"] == "survey" and status["done"]:
                may(
                    f"A survey is under way ({status['done']} of {status['of']} reeds): its takes stay, the rest would "
                    "have to be surveyed again. Install now?"
                )
            meter.link.request("leave")
            return meter
    except (NoMeter, LinkFault) as error:
        if error.kind in _STRANGE:
            may(
                f"What is on {port} does not answer as a meter; after an installation that was broken off none does. "
                "Stop whatever runs on it, to look at it?"
            )
        elif error.kind not in _OURS:
            raise
        if error.kind != "prompt":
            time.sleep(SILENCE_S)
        return None


def take_back(port: str) -> Meter:
    """The meter that answers after the board was started anew; Failed where none does."""
    deadline = time.monotonic() + START_S
    while True:
        time.sleep(1.0)
        try:
            with open_port(port) as opened:
                opened.reset_input_buffer()  # what the prompt said last
                return greet(Link(opened), port, NOBODY)
        except (NoMeter, LinkFault) as error:
            if time.monotonic() < deadline and error.kind != "prompt":
                continue
            raise Failed(
                f"the firmware is on the board, whole, but does not answer ({error}): unplug it, plug it in without a "
                "key held, and see `reedbench find`"
            ) from error
