"""Reads wiring.toml: the parts of a meter, the wires between their pads, and the GPIO that each signal ends at."""

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any

HERE = Path(__file__).resolve().parent
SOURCE = HERE / "wiring.toml"


@dataclass(frozen=True)
class Part:
    """One line of the parts list; `used` are the names under which its pieces stand in wires and drawings."""

    id: str
    name: str
    what: str
    matters: str
    price_eur: float  # of one piece; rough
    equivalents: tuple[str, ...] = ()
    pads: tuple[str, ...] = ()
    used: tuple[str, ...] = ()
    count: int = 1
    optional: bool = False
    size_mm: tuple[float, ...] = ()  # width, height, depth


@dataclass(frozen=True)
class Pad:
    """One place to solder at: "14" of the board, "SCK" of the microphone."""

    owner: str
    name: str

    @classmethod
    def read(cls, text: str) -> "Pad":
        owner, _, name = text.partition(".")
        return cls(owner, name)

    def __str__(self) -> str:
        return f"{self.owner.replace('_', ' ')} {self.name}"


@dataclass(frozen=True)
class Wire:
    """One wire; `number` counts them in the order of soldering."""

    number: int
    start: Pad
    end: Pad
    colour: str
    step: str
    signal: str = ""


@dataclass(frozen=True)
class Wiring:
    """All of wiring.toml."""

    pads: tuple[str, ...]  # of the board, by number
    inside: dict[str, str]
    parts: tuple[Part, ...]
    wires: tuple[Wire, ...]
    constants: tuple[dict[str, Any], ...]  # groups of the pin file: comment, values

    @property
    def steps(self) -> list[str]:
        """The steps of soldering, in order."""
        return list(dict.fromkeys(wire.step for wire in self.wires))

    def part(self, owner: str) -> Part:
        """The part that `owner`, as written in a wire, is a piece of."""
        return next(part for part in self.parts if owner in part.used)

    def gpio(self, text: str) -> int:
        """Number of the GPIO that the wire from a pad ("display.SDA") leads to, or of one inside the board."""
        pad = Pad.read(text)
        if pad.owner == "inside":
            return int(self.inside[pad.name].removeprefix("GP"))
        [wire] = [wire for wire in self.wires if wire.start == pad and wire.end.owner == "board"]
        return int(self.board_pad(wire.end).removeprefix("GP"))

    def board_pad(self, pad: Pad) -> str:
        """What the board's data sheet calls a pad given by its number."""
        return self.pads[int(pad.name) - 1]


def read(path: Path = SOURCE) -> Wiring:
    """The wiring in `path`."""
    data = tomllib.loads(path.read_text(encoding="utf-8"))
    return Wiring(
        pads=tuple(data["board"]["pads"]),
        inside=data["board"]["inside"],
        parts=tuple(_part(entry) for entry in data["part"]),
        wires=tuple(
            Wire(number, Pad.read(wire.pop("from")), Pad.read(wire.pop("to")), **wire)
            for number, wire in enumerate(data["wire"], start=1)
        ),
        constants=tuple(data["constants"]),
    )


def _part(entry: dict[str, Any]) -> Part:
    lists = {key: tuple(value) for key, value in entry.items() if isinstance(value, list)}
    used = lists.pop("used", (entry["id"],))
    return Part(**{"count": len(used), **entry, **lists, "used": used})
