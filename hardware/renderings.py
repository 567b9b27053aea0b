"""Shaded pictures of the case, from the STL files that are printed and from what sits where in it.

.venv/bin/python hardware/renderings.py    writes them into hardware/pictures; needs the extra `test`, no build123d
"""

from math import cos, radians, sin
from pathlib import Path

import numpy as np
import rasteriser
import seats
import wiring
from PIL import Image, ImageDraw, ImageFont
from rasteriser import Array, Surface, View

STANDING, APART_SIZE = (640, 700), (640, 800)
FINER = 3  # points across one of the picture
COLOURS = 96
LAMP = (-0.75, -0.5, 1.0)
SCREEN = wiring.HERE.parent / "tests" / "screens" / "expected" / "en-take-1.png"  # what the display shows
CASE, LIGHTER, BENCH, INK = (0.40, 0.50, 0.60), (0.56, 0.64, 0.72), (1.4, 1.4, 1.4), (30, 60, 90)
GLOW, GLASS, METAL, BLACK = (0.75, 0.92, 1.0), (0.05, 0.06, 0.08), (0.78, 0.78, 0.80), (0.13, 0.13, 0.14)
PART_COLOURS = {
    "board": (0.10, 0.42, 0.24), "cell": (0.80, 0.80, 0.83), "charger": (0.16, 0.30, 0.62),
    "switch": (0.25, 0.25, 0.27), "display": GLASS, "microphone": (0.42, 0.20, 0.50),
    "strip": (0.72, 0.56, 0.30), "key": BLACK,
}  # fmt: skip
# How far the parts are drawn apart, from the lid towards the face.
APART = {"clip": -30.0, "lid": 0.0, "strip": 36.0, "key": 36.0, "display": 54.0, "microphone": 54.0, "shell": 92.0}
LABELS = {"strip": "keys on their strip", "clip": "belt clip"}  # where a part's own name does not say it
# Where a name points to, if not to the middle of a part's upper side.
POINTED = {
    "shell": (10.0, -20.0, seats.DEPTH), "lid": (26.0, -36.0, seats.LID), "clip": (seats.CLIP_X, -6.0, -5.0),
    "charger": (24.0, 34.0, 9.0),
}  # fmt: skip


def draw(folder: Path) -> None:
    """Writes the pictures into `folder`."""
    standing().save(folder / "case.png", optimize=True)
    apart().save(folder / "case-apart.png", optimize=True)


def standing() -> Image.Image:
    """The meter on its stand on a bench."""
    meter = [Surface(printed(name), CASE) for name in ("shell", "lid")]
    meter += [surface for name in ("display", "key_up", "key_down", "key_do", "switch") for surface in part(name)]
    surfaces = [Surface(in_stand(one.triangles), one.colour, one.glows) for one in [*meter, *shown()]]
    surfaces += [Surface(printed("stand"), LIGHTER), Surface(box(30, 60, -1, 300, 300, 1), BENCH)]
    view = View((-150.0, -330.0, 190.0), (0.0, 18.0, 47.0), (0.0, 0.0, 1.0), 17.0)
    return taken(surfaces, view, STANDING)


def apart() -> Image.Image:
    """What lies over what, from the clip to the shell, with names."""
    surfaces, places = [], {}
    for name in ("shell", "lid", "clip"):
        triangles = raised(printed(name), APART[name])
        surfaces.append(Surface(triangles, CASE if name != "clip" else LIGHTER))
        places[name] = np.add(POINTED[name], (0, 0, APART[name]))
    for name in seats.contents():
        lift = APART.get(name.partition("_")[0], 0.0)
        bodies = part(name)
        surfaces += [Surface(raised(one.triangles, lift), one.colour) for one in bodies]
        if not name.startswith("key"):
            body = seats.contents()[name][0]
            places[name] = np.add(POINTED.get(name, (body.x, body.y, body.z + body.depth)), (0, 0, lift))
    view = View((310.0, -330.0, 225.0), (0.0, 0.0, 45.0), (0.0, 0.0, 1.0), 19.0)
    image = taken(surfaces, view, APART_SIZE, shadows=False)
    return named(image, {name: view.project(at[None], APART_SIZE)[0] for name, at in places.items()})


def printed(name: str) -> Array:
    """A printed part where it belongs, from the file that is printed."""
    axis, angle, bed = seats.ON_THE_BED[name]
    points = raised(rasteriser.read_stl(wiring.HERE / "stl" / f"{name}.stl"), bed)
    back = radians(-angle)
    first, second = (1, 2) if axis == "x" else (2, 0)
    turned = points.copy()
    turned[..., first] = cos(back) * points[..., first] - sin(back) * points[..., second]
    turned[..., second] = sin(back) * points[..., first] + cos(back) * points[..., second]
    return turned


def part(name: str) -> list[Surface]:
    """One of the parts inside, as blocks; the second block of a module is its socket or its knob."""
    surfaces = []
    for rank, body in enumerate(seats.contents()[name]):
        make = pole if body.round else box
        colour = PART_COLOURS[name.partition("_")[0]]
        if rank and name != "switch" and not name.startswith("key"):
            colour = METAL
        surfaces.append(Surface(make(body.x, body.y, body.z, body.width, body.height, body.depth), colour))
    return surfaces


def shown() -> list[Surface]:
    """What the display shows: a small square over its glass for each dot that is lit."""
    dots = np.argwhere(np.asarray(Image.open(SCREEN).convert("1")))
    height, width = 64, 128
    seat, pitch_x, pitch_y = seats.SEATS["display"], seats.LIT[0] / width, seats.LIT[1] / height
    x = seat.x + (dots[:, 1] + 0.5 - width / 2) * pitch_x
    y = seat.y - (dots[:, 0] + 0.5 - height / 2) * pitch_y
    squares = [box(*at, seats.CEILING + 0.02, pitch_x, pitch_y, 0.02)[2:4] for at in zip(x, y, strict=True)]
    return [Surface(np.concatenate(squares), GLOW, glows=True)]


def box(x: float, y: float, z: float, width: float, height: float, depth: float) -> Array:
    """A box by its middle in x and y and its lowest z, as triangles; the third and fourth are its upper side."""
    low, high = np.array([x - width / 2, y - height / 2, z]), np.array([x + width / 2, y + height / 2, z + depth])
    corners = np.array([[(low, high)[number >> axis & 1][axis] for axis in range(3)] for number in range(8)])
    sides = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    return np.array([corners[[a, *pair]] for a, b, c, d in sides for pair in ((b, c), (c, d))])


def pole(x: float, y: float, z: float, width: float, _height: float, depth: float) -> Array:
    """An upright pole of the diameter `width`, likewise."""
    turn = np.linspace(0, 2 * np.pi, 33)
    rim = np.stack([x + width / 2 * np.cos(turn), y + width / 2 * np.sin(turn)], axis=1)
    low, high = (np.column_stack([rim, np.full(33, level)]) for level in (z, z + depth))
    middle = np.array([x, y, z])
    triangles = []
    for one, two in zip(range(32), range(1, 33), strict=True):
        triangles += [(low[one], low[two], high[two]), (low[one], high[two], high[one])]
        triangles += [(middle, low[two], low[one]), (raised(middle, depth), high[one], high[two])]
    return np.array(triangles)


def raised(points: Array, by: float) -> Array:
    """These points, `by` millimetres higher."""
    return points + np.array([0.0, 0.0, by])


def in_stand(triangles: Array) -> Array:
    """Where these points of the meter are on the bench."""
    points = triangles.reshape(-1, 3)
    y, z = np.array([seats.leaning(seats.DEPTH - c, b + seats.HEIGHT / 2) for _, b, c in points]).T
    return np.column_stack([points[:, 0], y, z]).reshape(-1, 3, 3)


def taken(surfaces: list[Surface], view: View, size: tuple[int, int], shadows: bool = True) -> Image.Image:
    """A picture of that size, made smooth by means over a finer one."""
    width, height = size
    fine = rasteriser.picture(surfaces, view, LAMP, (width * FINER, height * FINER), shadows)
    means = fine.reshape(height, FINER, width, FINER, 3).mean(axis=(1, 3))
    return Image.fromarray(np.uint8(255 * means + 0.5)).quantize(COLOURS, dither=Image.Dither.NONE).convert("RGB")


def named(image: Image.Image, places: dict[str, Array]) -> Image.Image:
    """The image with a name for each place, in two columns at its edges, and a line from name to place."""
    pen, font = ImageDraw.Draw(image), ImageFont.load_default(15)
    for left in (True, False):
        rows = sorted((y, x, name) for name, (x, y, _) in places.items() if (x < image.width / 2) == left)
        at = 0.0
        for y, x, name in rows:
            at = max(y, at + 24)
            edge = 8 if left else image.width - 8
            words = LABELS.get(name, name)
            length = font.getlength(words)
            pen.line([(edge + length + 5 if left else edge - length - 5, at), (x, y)], INK, 1)
            pen.ellipse([x - 2.5, y - 2.5, x + 2.5, y + 2.5], INK)
            pen.text((edge, at), words, INK, font, anchor="lm" if left else "rm")
    return image


if __name__ == "__main__":
    draw(wiring.HERE / "pictures")
