"""The shapes of the case: shell, lid, belt clip and stand, in the axes and units of seats.py.

Printed without supports: shell on its face, lid on its outside, clip and stand on their sides.

.venv/bin/python hardware/enclosure.py STL STEP    writes such files into two folders; needs the extra `hardware`
"""

import sys
from functools import cache
from pathlib import Path

from build123d import (
    Axis,
    Box,
    Cone,
    Cylinder,
    Face,
    Part,
    Plane,
    Polygon,
    Pos,
    Rectangle,
    RectangleRounded,
    Rot,
    chamfer,
    export_step,
    export_stl,
    extrude,
)
from seats import (
    BOARD_LIFT,
    CEILING,
    CLIP_WIDTH,
    CLIP_X,
    DEPTH,
    FACE,
    FLOOR,
    FOAM,
    HEIGHT,
    INSIDE_X,
    INSIDE_Y,
    KEYS,
    LID,
    ON_THE_BED,
    PORT,
    RIB,
    SEATS,
    SIZE,
    SLACK,
    STAND_WIDTH,
    STRIP_TOP,
    THINNEST,
    WALL,
    WIDTH,
    WINDOW,
    leaning,
)
from seats import contents as seated

PILOT, THROUGH, HEAD = 1.7, 2.4, 4.4  # holes for an M2 screw: to cut its thread, to pass, to take its head
POST_PITCH = 45.72  # the two holes that hold the keys' strip, eighteen holes apart
BOARD_HOLES = (47.0, 11.4)  # Raspberry Pi Pico data sheet, figure "dimensions"
PLUG_USB, PLUG_USB_C = (12.0, 8.5), (12.5, 7.0)  # room for the plugs' grips: width, height
CLIP_SCREWS = (25.0, 38.0)  # the clip's screws' heights


def _block(x: float, y: float, z: float, width: float, height: float, depth: float) -> Part:
    """A box by its middle in x and y and its lowest z."""
    return Pos(x, y, z + depth / 2) * Box(width, height, depth)


def _pole(x: float, y: float, z: float, diameter: float, depth: float) -> Part:
    return Pos(x, y, z + depth / 2) * Cylinder(diameter / 2, depth)


def _corners() -> list[tuple[float, float]]:
    return [(x, y) for x in (-INSIDE_X + 3, INSIDE_X - 3) for y in (-INSIDE_Y + 3, INSIDE_Y - 3)]


def _board_holes() -> list[tuple[float, float]]:
    seat, (along, across) = SEATS["board"], BOARD_HOLES
    return [(seat.x + x, seat.y + y) for x in (-along / 2, along / 2) for y in (-across / 2, across / 2)]


def _plug(part: str, socket_z: float, plug: tuple[float, float]) -> Part:
    """The gap in the right wall for a plug whose middle is `socket_z` above the lid's inside; open to the lid."""
    width, height = plug
    return _block(WIDTH / 2, SEATS[part].y, FLOOR - 1, 4 * WALL, width, socket_z + height / 2 + 1)


@cache
def shell() -> Part:
    """Face and walls, with what holds display, keys and microphone."""
    body = extrude(RectangleRounded(WIDTH, HEIGHT, 4), DEPTH - LID)
    body = Pos(0, 0, LID) * chamfer(body.faces().sort_by(Axis.Z)[-1].edges(), 1.2)
    body -= Pos(0, 0, FLOOR) * extrude(RectangleRounded(2 * INSIDE_X, 2 * INSIDE_Y, 2), CEILING - FLOOR)
    for x, y in _corners():
        body += _block(x, y, FLOOR, 6, 6, CEILING - FLOOR)
    body += _display_frame() + _microphone_ring()
    for x in (-POST_PITCH / 2, POST_PITCH / 2):
        body += _pole(x, SEATS["strip"].y, STRIP_TOP, 6, CEILING - STRIP_TOP)
        body -= _pole(x, SEATS["strip"].y, STRIP_TOP, PILOT, 5.5)
    for x, y in _corners():
        body -= _pole(x, y, FLOOR, PILOT, 8)
    for x in KEYS.values():
        body -= _pole(x, SEATS["strip"].y, CEILING, 4.4, FACE)
    display, microphone = SEATS["display"], SEATS["microphone"]
    body -= Pos(display.x, display.y, CEILING) * _opening(*WINDOW)
    body -= _pole(microphone.x, microphone.y, CEILING, PORT, FACE)
    edge = FACE - THINNEST
    body -= Pos(microphone.x, microphone.y, DEPTH - edge / 2) * Cone(PORT / 2, PORT / 2 + edge, edge)
    body -= _plug("board", BOARD_LIFT + 1 + 1.35, PLUG_USB) + _plug("charger", FOAM + 1.6 + 1.6, PLUG_USB_C)
    switch = SEATS["switch"]
    body -= _block(-WIDTH / 2, switch.y, FLOOR - 1, 4 * WALL, 7, 1 + SIZE["switch"][1])
    return body - _block(-12, HEIGHT / 2, FLOOR - 1, 5, 4 * WALL, 4)  # for the thermometer's wires


def _opening(width: float, height: float) -> Part:
    """A window whose edge widens outwards by 45 degrees."""
    edge = FACE - THINNEST
    hole = extrude(Rectangle(width, height), FACE)
    return hole + Pos(0, 0, THINNEST) * extrude(Rectangle(width, height), edge, taper=-45)


def _display_frame() -> Part:
    """Ribs left, right and below; above, where the wires leave, two short ones."""
    seat, (width, height, _) = SEATS["display"], SIZE["display"]
    depth, x, y = 4.0, width / 2 + SLACK + RIB / 2, height / 2 + SLACK + RIB / 2
    z = CEILING - depth
    frame = _block(seat.x, seat.y - y, z, width + 2 * SLACK + 2 * RIB, RIB, depth)
    for side in (-1, 1):
        frame += _block(seat.x + side * x, seat.y, z, RIB, height + 2 * SLACK + 2 * RIB, depth)
        frame += _block(seat.x + side * (x - 2), seat.y + y, z, 4 + RIB, RIB, depth)
    return frame


def _microphone_ring() -> Part:
    seat, diameter = SEATS["microphone"], SIZE["microphone"][0] + 2 * SLACK
    ring = _pole(seat.x, seat.y, CEILING - 3, diameter + 2 * RIB, 3) - _pole(seat.x, seat.y, CEILING - 3, diameter, 3)
    return ring - _block(seat.x, seat.y + diameter / 2, CEILING - 3, 8, 4 * RIB, 3)  # for its wires


@cache
def lid() -> Part:
    """The back, with what holds board, cell, charger and switch."""
    body = extrude(RectangleRounded(WIDTH, HEIGHT, 4), LID)
    body = chamfer(body.faces().sort_by(Axis.Z)[0].edges(), 1.0)
    for x, y in _board_holes():
        body += _pole(x, y, LID, 5, BOARD_LIFT)
    for y in CLIP_SCREWS:
        body += _pole(CLIP_X, y, LID, 5.6, 3)
    body += _ribs()
    for x, y in _board_holes():
        body -= _pole(x, y, LID + BOARD_LIFT - 5.2, PILOT, 5.2)
    for y in CLIP_SCREWS:
        body -= _pole(CLIP_X, y, 0, PILOT, LID + 3)
    for x, y in _corners():
        body -= _pole(x, y, 0, THROUGH, LID) + _pole(x, y, 0, HEAD, 1.5)
    for x in range(-6, 7, 4):  # under the charger, which gets hot
        body -= _block(SEATS["charger"].x + x, SEATS["charger"].y, 0, 2, 10, LID)
    return body


def _ribs() -> Part:
    ribs = Part()
    cell, (width, height, _) = SEATS["cell"], SIZE["cell"]
    for side in (-1, 1):
        ribs += _block(cell.x, cell.y + side * (height / 2 + 2 * SLACK + RIB / 2), LID, 30, RIB, 4)
        ribs += _block(cell.x + side * (width / 2 + 2 * SLACK + RIB / 2), cell.y, LID, RIB, 16, 4)
    charger, (width, height, _) = SEATS["charger"], SIZE["charger"]
    for side in (-1, 1):
        ribs += _block(charger.x - 2, charger.y + side * (height / 2 + SLACK + RIB / 2), LID, 14, RIB, 4)
    ribs += _block(charger.x - width / 2 - SLACK - RIB / 2, charger.y, LID, RIB, 8, 4)  # takes the push of the plug
    switch, length = SEATS["switch"], SIZE["switch"][0]
    for side in (-1, 1):
        ribs += _block(switch.x - 1, switch.y + side * (length / 2 + SLACK + RIB / 2), LID, 5, RIB, 6)
    return ribs


@cache
def clip() -> Part:
    """The belt clip, against the lid's outside; its screws go through holes in its arm."""
    gap, arm, plate, top, bottom = 3.5, 2.4, 3.0, 44.0, -8.0
    out = -plate - gap - arm
    outline = [
        (20, 0), (top, 0), (top, out), (bottom, out), (bottom, out + arm + 1.5), (bottom + 3, out + arm + 1.5),
        (bottom + 7, out + arm), (top - 3, out + arm), (top - 3, -plate), (20, -plate),
    ]  # fmt: skip
    # Sketched in y and z, extruded along x.
    body = Pos(CLIP_X, 0, 0) * extrude(Plane.YZ * Polygon(*outline, align=None), CLIP_WIDTH / 2, both=True)
    for y in CLIP_SCREWS:
        body -= _pole(CLIP_X, y, -plate, THROUGH, plate) + _pole(CLIP_X, y, -plate, HEAD, 1.5)
        body -= _pole(CLIP_X, y, out, 5.5, arm)
    return body


@cache
def stand() -> Part:
    """The bench stand on the bench (z = 0), front towards -y; the meter leans back in it by `LEAN` degrees."""
    thick = 5.0
    front, back = -SLACK, DEPTH + SLACK
    profile = Polygon((-18, 0), (60, 0), (60, 4), (-18, 4), align=None)
    profile += _slab(front - thick, back + thick, -40, 0)
    profile += _slab(back, back + thick, 0, 38)
    profile += _slab(front - thick, front, 0, 8)
    profile -= Pos(0, -100) * Rectangle(400, 200)
    return extrude(Plane.YZ * profile, STAND_WIDTH / 2, both=True)


def _slab(near: float, far: float, low: float, high: float) -> Face:
    return Polygon(*[leaning(u, v) for u, v in ((near, low), (far, low), (far, high), (near, high))], align=None)


def contents() -> dict[str, Part]:
    """The parts where they sit, as blocks."""
    blocks = {}
    for name, bodies in seated().items():
        blocks[name] = Part()
        for one in bodies:
            if one.round:
                blocks[name] += _pole(one.x, one.y, one.z, one.width, one.depth)
            else:
                blocks[name] += _block(one.x, one.y, one.z, one.width, one.height, one.depth)
    return blocks


PRINTED = {"shell": shell, "lid": lid, "clip": clip, "stand": stand}


def for_printing(name: str) -> Part:
    """A printed part as it lies on the printer's bed."""
    axis, angle, bed = ON_THE_BED[name]
    turn = Rot(angle, 0, 0) if axis == "x" else Rot(0, angle, 0)
    return Pos(0, 0, -bed) * turn * PRINTED[name]()


if __name__ == "__main__":
    stl, step = Path(sys.argv[1]), Path(sys.argv[2])
    for folder in (stl, step):
        folder.mkdir(parents=True, exist_ok=True)
    for name in PRINTED:
        export_stl(for_printing(name), str(stl / f"{name}.stl"), tolerance=0.05, angular_tolerance=0.5)
        export_step(for_printing(name), str(step / f"{name}.step"))
