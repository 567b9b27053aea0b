"""The wiring as the tests look at it, and what is joined to what in it."""

import sys
from importlib import import_module
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
HARDWARE = ROOT / "hardware"
sys.path.append(str(HARDWARE))
wiring: Any = import_module("wiring")
PLAN = wiring.read()


def nets() -> list[set[str]]:
    """Sets of pads that wires join, each pad as "display.SDA" or "board.3V3"; the board joins pads of one name."""
    found: list[set[str]] = []
    for wire in PLAN.wires:
        joined = {named(wire.start), named(wire.end)}
        touched = [net for net in found if net & joined]
        found = [net for net in found if not net & joined] + [joined.union(*touched)]
    return found


def named(pad: Any) -> str:
    """A pad in words; those of the board by what they are, not by number."""
    return f"board.{PLAN.board_pad(pad)}" if pad.owner == "board" else f"{pad.owner}.{pad.name}"
