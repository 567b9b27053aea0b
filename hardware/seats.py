"""The case in numbers: its outside, what sits where in it, how its parts lie in the printer and in the stand.

x to the right and y up as one looks at the face, z from the lid's outside (0) to the face's. Millimetres, degrees.
"""

from dataclasses import dataclass
from math import cos, radians, sin

import wiring

WIDTH, HEIGHT, DEPTH = 63.0, 98.0, 26.0  # outside
WALL, FACE, LID, RIB = 2.0, 2.0, 3.0, 1.6
THINNEST = 1.2  # three lines of a 0.4 mm nozzle
SLACK = 0.3  # around what is put between ribs
FOAM = 1.0  # tape under cell and charger
INSIDE_X, INSIDE_Y, FLOOR, CEILING = WIDTH / 2 - WALL, HEIGHT / 2 - WALL, LID, DEPTH - FACE

KEY_PITCH = 15.24  # six holes of perforated board
KEY_HEIGHT, KEY_ABOVE = 9.5, 1.2  # of a push button from its board to its tip, and how far that stands out of the face
BOARD_LIFT = 3.5  # solder joints and wires under the board
WINDOW = (25.0, 16.0)  # more than the lit area of any 0.96 inch module
LIT = (21.74, 10.86)  # that area, from memory of a module's drawing
PORT = 2.0  # diameter of the hole in front of the microphone
CLIP_X, CLIP_WIDTH = -10.0, 16.0  # the clip's middle
LEAN = 25.0  # from upright, in the stand
STAND_WIDTH = 50.0


@dataclass(frozen=True)
class Seat:
    """Where a part of the wiring sits: middle in x and y, and the z of its side towards the lid."""

    x: float
    y: float
    z: float


@dataclass(frozen=True)
class Body:
    """A piece of a part: a box, or a pole of that diameter where `width` is all there is. `z` is its lowest."""

    x: float
    y: float
    z: float
    width: float
    height: float
    depth: float
    round: bool = False


def _sizes() -> dict[str, tuple[float, ...]]:
    return {part.id: part.size_mm for part in wiring.read().parts if part.size_mm}


SIZE = _sizes()
STRIP_TOP = DEPTH + KEY_ABOVE - KEY_HEIGHT  # side of the keys' strip towards the face
SEATS = {
    "board": Seat(INSIDE_X - 1 - SIZE["board"][0] / 2, -29.5, FLOOR + BOARD_LIFT),
    "cell": Seat(0, 1.5, FLOOR + FOAM),
    "charger": Seat(INSIDE_X - SLACK - SIZE["charger"][0] / 2, 30.75, FLOOR + FOAM),
    "switch": Seat(-INSIDE_X + SLACK + SIZE["switch"][2] / 2, 31, FLOOR),
    "display": Seat(0, 12.5, CEILING - SIZE["display"][2]),
    "microphone": Seat(0, 37, CEILING - SIZE["microphone"][2]),
    "strip": Seat(0, -29.5, STRIP_TOP - SIZE["strip"][2]),
}
KEYS = {"key_up": -KEY_PITCH, "key_down": 0.0, "key_do": KEY_PITCH}  # their x; y is the strip's


def contents() -> dict[str, list[Body]]:
    """The parts where they sit, as far as the case has to know them."""
    parts = {}
    for name, seat in SEATS.items():
        width, height, depth = SIZE[name]
        if name == "switch":
            width, height, depth = depth, width, height
        parts[name] = [Body(seat.x, seat.y, seat.z, width, height, depth, round=name == "microphone")]
    board, charger, switch = SEATS["board"], SEATS["charger"], SEATS["switch"]
    edge = board.x + SIZE["board"][0] / 2
    # The board is 1 mm thick, its socket 2.7 high and 1.3 beyond its edge.
    parts["board"] = [
        Body(board.x, board.y, board.z, *SIZE["board"][:2], 1),
        Body(edge - 1.5, board.y, board.z + 1, 5.6, 8, 2.7),
    ]
    parts["charger"].append(Body(charger.x + SIZE["charger"][0] / 2, charger.y, charger.z + 1.6, 2, 9, 3.2))
    parts["switch"].append(Body(-WIDTH / 2, switch.y, switch.z + 1.2, 2 * WALL + 4, 2, 2))
    for name, x in KEYS.items():
        y, (width, height, depth) = SEATS["strip"].y, SIZE["key"]
        parts[name] = [
            Body(x, y, STRIP_TOP, width, height, depth),
            Body(x, y, STRIP_TOP, 3.5, 3.5, KEY_HEIGHT, round=True),
        ]
    return parts


def leaning(u: float, v: float) -> tuple[float, float]:
    """(y, z) on the bench of a point `u` behind the face and `v` above the bottom of a meter in the stand."""
    lean = radians(LEAN)
    return u * cos(lean) + v * sin(lean), 4 + (DEPTH + SLACK) * sin(lean) - u * sin(lean) + v * cos(lean)


# How a printed part lies on the printer's bed: the axis and angle by which it is turned, and where the bed's zero then
# is in the part's own coordinates.
ON_THE_BED = {
    "shell": ("x", 180.0, -DEPTH),
    "lid": ("x", 0.0, 0.0),
    "clip": ("y", 90.0, -CLIP_X - CLIP_WIDTH / 2),
    "stand": ("y", 90.0, -STAND_WIDTH / 2),
}
