"""Draws the wiring as SVG: the whole of it, or one step of soldering with its wires in colour and earlier ones in grey.

Only where things stand is decided here. Which pads there are and what they are joined to comes from the wiring.
"""

from html import escape
from typing import NamedTuple

from wiring import Pad, Wire, Wiring

_WIDTH, _HEIGHT = 1030, 745
_PITCH = 26  # between pads
_BOARD_X, _BOARD_WIDTH, _BOARD_Y = 480, 150, 120  # left edge, width, middle of the first pads
_LINE = "#333"
_COLOURS = {
    "black": "#222", "red": "#d22", "blue": "#2868c8", "yellow": "#e0b000", "white": "#fff", "grey": "#999",
    "violet": "#8a3fc0", "orange": "#ee7700", "green": "#2a8a3a", "brown": "#7a4a20",
}  # fmt: skip


class _Piece(NamedTuple):
    """A box of `width` at `x`, `y`. A row holds one pad, or two: the first at its left edge, the other at its right."""

    x: int
    y: int
    width: int
    rows: tuple[str, ...]

    def height(self) -> int:
        return 36 + _PITCH * len(self.rows)


_PIECES = {
    "thermometer": _Piece(8, 70, 160, ("VCC", "GND", "SDA", "SCL")),
    "display": _Piece(205, 70, 110, ("VCC", "GND", "SDA", "SCL")),
    "key_up": _Piece(205, 256, 110, ("2 1",)),
    "key_down": _Piece(205, 336, 110, ("2 1",)),
    "key_do": _Piece(205, 424, 110, ("2 1",)),
    "microphone": _Piece(205, 510, 110, ("SCK", "WS", "SD", "GND", "L/R", "VDD")),
    "diode": _Piece(815, 104, 130, ("K A",)),
    "switch": _Piece(815, 200, 130, ("1 2",)),
    "charger": _Piece(815, 290, 130, ("OUT+ B+", "OUT- B-")),
    "cell": _Piece(815, 430, 130, ("-", "+")),
}

# The way of a wire from its first pad: along to x, up or down to y, along to x, and so on, then to its other end.
_WAYS = {
    "display.GND": (440,),
    "display.SDA": (420,),
    "display.SCL": (400,),
    "display.VCC": (345, 50, 665),
    "key_up.1": (380,),
    "key_down.1": (350,),
    "key_do.1": (365,),
    "key_do.2": (185, 497, 380),
    "key_down.2": (185,),
    "key_up.2": (185,),
    "microphone.SCK": (395,),
    "microphone.WS": (410,),
    "microphone.SD": (425,),
    "microphone.GND": (440,),
    "microphone.L/R": (350,),
    "microphone.VDD": (345, 722, 650),
    "switch.2": (990,),
    "charger.OUT+": (760,),
    "charger.OUT-": (730,),
    "cell.-": (975,),
    "cell.+": (990,),
}


BARE = "board"  # the step before the first wire


def svg(wiring: Wiring, step: str = "") -> str:
    """The drawing of all wires, or of `step` and those before it; of the board alone for the step BARE."""
    known = [BARE, *wiring.steps]
    steps = known[: known.index(step) + 1] if step else wiring.steps
    wires = [wire for wire in wiring.wires if wire.step in steps]
    owners = {pad.owner for wire in wires for pad in (wire.start, wire.end)}
    now = [wire for wire in wires if wire.step == step or not step]
    body = [line for wire in wires for line in _wire(wire, wire in now)]
    body += _board(wiring, {wire.end.name for wire in now if wire.end.owner == "board"})
    body += [line for owner in _PIECES if owner in owners for line in _piece(wiring, owner)]
    body += [line for wire in now for line in _number(wire)]
    title = f"Wiring of the meter, step: {step}" if step else "Wiring of the meter"
    left, width = _edges(owners)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{left} 0 {width} {_HEIGHT}" '
        f'width="{width}" height="{_HEIGHT}" '
        f'font-family="DejaVu Sans, Verdana, sans-serif" font-size="13" fill="{_LINE}">\n'
        f"<title>{title}</title>\n"
        f'<rect x="{left}" width="{width}" height="{_HEIGHT}" fill="#fff"/>\n' + "\n".join(body) + "\n</svg>\n"
    )


def _edges(owners: set[str]) -> tuple[int, int]:
    """Left edge and width of a drawing of these parts: room beside the outermost for wires and their numbers."""
    pieces = [_PIECES[owner] for owner in owners if owner in _PIECES]
    left = min([_BOARD_X - 30, *(piece.x - 40 for piece in pieces)])
    right = max([_BOARD_X + _BOARD_WIDTH + 60, *(piece.x + piece.width + 80 for piece in pieces if piece.x > _BOARD_X)])
    left = max(0, left)
    return left, min(_WIDTH, right) - left


def _board(wiring: Wiring, marked: set[str]) -> list[str]:
    middle = _BOARD_X + _BOARD_WIDTH // 2
    drawn = [
        _box(_BOARD_X, _BOARD_Y - 36, _BOARD_WIDTH, 20 * _PITCH + 50),
        _box(middle - 24, _BOARD_Y - 46, 48, 34),
        _text(middle, _BOARD_Y - 24, "USB"),
        _text(middle, _BOARD_Y + 522, "board, from above", weight="bold"),
    ]
    for number, name in enumerate(wiring.pads, start=1):
        x, y = _board_pad(number)
        fill, colour = ("#ffd75e", _LINE) if str(number) in marked else ("#fff", "#777")
        drawn.append(f'<circle cx="{x}" cy="{y}" r="5" fill="{fill}" stroke="{_LINE}"/>')
        beside, anchor = (10, "start") if number <= 20 else (-10, "end")
        drawn.append(_text(x + beside, y + 5, f"{number} {name}", anchor, colour, 12))
    return drawn


def _board_pad(number: int) -> tuple[int, int]:
    if number <= 20:
        return _BOARD_X, _BOARD_Y + (number - 1) * _PITCH
    return _BOARD_X + _BOARD_WIDTH, _BOARD_Y + (40 - number) * _PITCH


def _piece(wiring: Wiring, owner: str) -> list[str]:
    piece = _PIECES[owner]
    part = wiring.part(owner)
    name = f"{owner.replace('_', ' ')}, option" if part.optional else owner.replace("_", " ")
    drawn = [
        _box(piece.x, piece.y, piece.width, piece.height()),
        _text(piece.x + piece.width // 2, piece.y + 20, name, weight="bold"),
    ]
    for rank, row in enumerate(piece.rows):
        y = _row_y(piece, rank) + 5
        pads = row.split()
        if len(pads) == 2:
            drawn.append(_text(piece.x + 10, y, pads[0], "start"))
            drawn.append(_text(piece.x + piece.width - 10, y, pads[1], "end"))
        else:
            drawn.append(_text(piece.x + piece.width // 2, y, row))
    return drawn


def _row_y(piece: _Piece, rank: int) -> int:
    return piece.y + 42 + _PITCH * rank


def _at(pad: Pad, towards: int) -> tuple[int, int]:
    """Where a wire that comes from, or goes to, x = `towards` meets a pad."""
    if pad.owner == "board":
        return _board_pad(int(pad.name))
    piece = _PIECES[pad.owner]
    [rank] = [rank for rank, row in enumerate(piece.rows) if pad.name in row.split()]
    pads = piece.rows[rank].split()
    right = pad.name == pads[1] if len(pads) == 2 else towards > piece.x
    return piece.x + piece.width * right, _row_y(piece, rank)


def _way(wire: Wire) -> tuple[int, ...]:
    return _WAYS.get(f"{wire.start.owner}.{wire.start.name}", ())


def _ends(wire: Wire) -> tuple[tuple[int, int], tuple[int, int]]:
    way = _way(wire)
    return _at(wire.start, way[0] if way else _WIDTH), _at(wire.end, way[-1] if way else 0)


def _wire(wire: Wire, now: bool) -> list[str]:
    way = _way(wire)
    (x, y), (end_x, end_y) = _ends(wire)
    path = f"M{x} {y}" + "".join(f" {'HV'[i % 2]}{to}" for i, to in enumerate(way)) + f" V{end_y} H{end_x}"
    # A gap in what it crosses; not where wires meet at a pad.
    gap = [_line(path, "#fff", 9)] if wire.end.owner == "board" and len(way) < 3 else []
    if not now:
        return [*gap, _line(path, "#ccc", 2)]
    rim = [_line(path, _LINE, 5)] if wire.colour == "white" else []
    return [*gap, *rim, _line(path, _COLOURS[wire.colour], 3)]


def _number(wire: Wire) -> list[str]:
    (x, y), (end_x, _) = _ends(wire)
    x += 18 if (_way(wire) or (end_x,))[0] > x else -18
    return [
        f'<circle cx="{x}" cy="{y}" r="9" fill="#fff" stroke="{_LINE}"/>',
        _text(x, y + 4, str(wire.number), size=11),
    ]


def _line(path: str, colour: str, width: int) -> str:
    return f'<path d="{path}" fill="none" stroke="{colour}" stroke-width="{width}"/>'


def _box(x: int, y: int, width: int, height: int) -> str:
    return f'<rect x="{x}" y="{y}" width="{width}" height="{height}" rx="6" fill="#f4f4f0" stroke="{_LINE}"/>'


def _text(
    x: int, y: int, words: str, anchor: str = "middle", colour: str = _LINE, size: int = 13, weight: str = "normal"
) -> str:
    style = f' font-weight="{weight}"' if weight != "normal" else ""
    return (
        f'<text x="{x}" y="{y}" text-anchor="{anchor}" font-size="{size}" fill="{colour}"{style}>{escape(words)}</text>'
    )
