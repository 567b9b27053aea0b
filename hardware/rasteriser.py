"""Triangles to a shaded picture: a camera, a z-buffer, one lamp with its shadows, light from all round. Only NumPy.

A surface is an array (n, 3, 3) of triangles, counter-clockwise as seen from outside, in millimetres, with one colour.
"""

from dataclasses import dataclass
from math import cos, radians
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

CREASE = radians(35)  # faces that meet at less are drawn as one curved surface
LAMP_SIZE = 1600  # points across the lamp's own picture, by which it is known what lies in shadow
BIAS = 0.5  # mm by which a point is lifted off its surface there, lest that throws a shadow on itself
AROUND, LAMP, SHINE = 0.50, 0.62, 0.10
DIM = 0.45  # how much of the light from all round a deep corner keeps


@dataclass(frozen=True)
class Surface:
    """Triangles (n, 3, 3) of one colour (red, green, blue, 0 to 1). What glows is not shaded."""

    triangles: Array
    colour: tuple[float, float, float]
    glows: bool = False


@dataclass(frozen=True)
class View:
    """A camera at `eye` that looks at `target`, in mm, with the upright `up`; `angle`: degrees across the picture."""

    eye: tuple[float, float, float]
    target: tuple[float, float, float]
    up: tuple[float, float, float]
    angle: float  # 0: from infinitely far away; `span` mm are then seen
    span: float = 0.0

    def project(self, points: Array, size: tuple[int, int]) -> Array:
        """Where points (n, 3) are seen in a picture of `size`: x and y from its upper left corner, and 1/depth.

        From infinitely far the third is minus the depth. Either is larger the nearer a point is.
        """
        right, over, back = self.axes()
        away = points - np.asarray(self.eye)
        x, y, depth = away @ right, away @ over, -(away @ back)
        if self.angle:
            scale = size[0] / 2 / np.tan(radians(self.angle) / 2) / depth
            near = 1 / depth
        else:
            scale = np.full_like(depth, size[0] / self.span)
            near = -depth
        return np.stack([size[0] / 2 + scale * x, size[1] / 2 - scale * y, near], axis=-1)

    def axes(self) -> tuple[Array, Array, Array]:
        """Unit vectors to the right, upwards, and towards the eye."""
        back = _unit(np.subtract(self.eye, self.target))
        right = _unit(np.cross(self.up, back))
        return right, np.cross(back, right), back


def read_stl(path: Path) -> Array:
    """Triangles of a binary STL file."""
    kind = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    return np.fromfile(path, kind, offset=84)["corners"].astype(float)


def picture(
    surfaces: list[Surface], view: View, lamp: tuple[float, float, float], size: tuple[int, int], shadows: bool = True
) -> Array:
    """An image (height, width, 3) of 0 to 1 on white, of what `view` sees under a lamp far away towards `lamp`."""
    triangles = np.concatenate([surface.triangles for surface in surfaces])
    owners = np.repeat(np.arange(len(surfaces)), [len(surface.triangles) for surface in surfaces])
    normals = np.concatenate([_corner_normals(surface.triangles) for surface in surfaces])
    face, weights = _rasterise(view.project(triangles.reshape(-1, 3), size).reshape(-1, 3, 3), size)
    seen = face >= 0
    face, weights = face[seen], weights[seen]
    if view.angle:  # weights are straight in the picture, not in space
        depth = -((triangles.reshape(-1, 3) - np.asarray(view.eye)) @ view.axes()[2]).reshape(-1, 3)
        weights = weights / depth[face]
        weights /= weights.sum(axis=1, keepdims=True)
    points = np.einsum("nc,ncx->nx", weights, triangles[face])
    normal = _unit(np.einsum("nc,ncx->nx", weights, normals[face]))
    towards = _unit(np.asarray(view.eye) - points)
    light = _unit(np.asarray(lamp))
    direct = np.clip(normal @ light, 0, None)
    if shadows:
        direct *= _lit(triangles, points + BIAS * normal, light)
    shine = np.clip((normal * _unit(towards + light)).sum(axis=1), 0, None) ** 30 * (direct > 0)
    around = AROUND * (0.75 + 0.25 * (normal * np.asarray(view.axes()[1])).sum(axis=1))
    around *= _openness(points, seen, view)
    colours = np.array([surface.colour for surface in surfaces])[owners[face]]
    glows = np.array([surface.glows for surface in surfaces])[owners[face]]
    shaded = colours * (around + LAMP * direct)[:, None] + SHINE * shine[:, None]
    image = np.ones((*size[::-1], 3))
    image[seen] = np.where(glows[:, None], colours, np.clip(shaded, 0, 1))
    return image


def _unit(vectors: Array) -> Array:
    return vectors / np.maximum(np.linalg.norm(vectors, axis=-1, keepdims=True), 1e-12)


def _rasterise(corners: Array, size: tuple[int, int]) -> tuple[NDArray[np.int64], Array]:
    """For each point of the picture the nearest triangle, -1 for none, and the weights of its corners there."""
    width, height = size
    nearest = np.full((height, width), -np.inf)
    face = np.full((height, width), -1)
    weights = np.zeros((height, width, 3))
    low = np.clip(np.floor(corners[..., :2].min(axis=1)), 0, [width, height]).astype(int)
    high = np.clip(np.ceil(corners[..., :2].max(axis=1)) + 1, 0, [width, height]).astype(int)
    for number, ((ax, ay, az), (bx, by, bz), (cx, cy, cz)) in enumerate(corners):
        area = (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
        (left, top), (right, bottom) = low[number], high[number]
        if abs(area) < 1e-9 or left >= right or top >= bottom:
            continue
        x, y = np.arange(left, right) + 0.5, np.arange(top, bottom)[:, None] + 0.5
        b = ((x - ax) * (cy - ay) - (y - ay) * (cx - ax)) / area
        c = ((bx - ax) * (y - ay) - (by - ay) * (x - ax)) / area
        a = 1 - b - c
        near = a * az + b * bz + c * cz
        window = (slice(top, bottom), slice(left, right))
        wins = (a >= 0) & (b >= 0) & (c >= 0) & (near > nearest[window])
        nearest[window][wins] = near[wins]
        face[window][wins] = number
        weights[window][wins] = np.stack([a, b, c], axis=-1)[wins]
    return face, weights


def _corner_normals(triangles: Array) -> Array:
    """(n, 3, 3): at each corner the mean of the normals of the faces there that meet at less than CREASE."""
    across = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    flat = _unit(across)
    _, place = np.unique(np.round(triangles.reshape(-1, 3), 3), axis=0, return_inverse=True)
    order = np.argsort(place.ravel(), kind="stable")
    normals = np.repeat(flat[:, None], 3, axis=1).reshape(-1, 3)
    bounds = np.flatnonzero(np.diff(place.ravel()[order])) + 1
    for group in np.split(order, bounds):
        faces = group // 3
        close = flat[faces] @ flat[faces].T > cos(CREASE)
        normals[group] = _unit(close @ across[faces])
    return normals.reshape(-1, 3, 3)


def _lit(triangles: Array, points: Array, light: Array) -> Array:
    """1 where nothing stands between a point and the lamp, down to 0 at the middle of a shadow."""
    middle = (triangles.min(axis=(0, 1)) + triangles.max(axis=(0, 1))) / 2
    span = float(np.linalg.norm(np.ptp(triangles.reshape(-1, 3), axis=0)))
    up = (0.0, 0.0, 1.0) if abs(light[2]) < 0.9 else (0.0, 1.0, 0.0)
    lamp = View(tuple(middle + span * light), tuple(middle), up, 0.0, span)
    size = (LAMP_SIZE, LAMP_SIZE)
    corners = lamp.project(triangles.reshape(-1, 3), size).reshape(-1, 3, 3)
    face, weights = _rasterise(corners, size)
    near = np.where(face >= 0, (weights * corners[face][..., 2]).sum(axis=-1), -np.inf)
    x, y, depth = lamp.project(points, size).T
    total = np.zeros(len(points))
    steps = (-2, 0, 2)
    for dx in steps:
        for dy in steps:
            column = np.clip((x + dx).astype(int), 0, LAMP_SIZE - 1)
            row = np.clip((y + dy).astype(int), 0, LAMP_SIZE - 1)
            total += near[row, column] <= depth + BIAS / 4
    return total / len(steps) ** 2


def _openness(points: Array, seen: NDArray[np.bool_], view: View) -> Array:
    """1 on open surfaces, down to DIM where what is around in the picture stands nearer: corners and gaps.

    After Luft, Colditz and Deussen, "Image enhancement by unsharp masking the depth buffer", 2006.
    """
    depth = np.full(seen.shape, np.nan)
    depth[seen] = -((points - np.asarray(view.eye)) @ view.axes()[2])
    far = np.nanmax(depth)
    filled = np.where(seen, depth, far)
    dark = np.zeros(seen.shape)
    for reach in (6, 18):
        near = _blurred(_blurred(filled, reach, 0), reach, 1)
        gap = filled - near
        dark += np.clip(gap / 6.0, 0, 1) * np.clip(2 - gap / 10.0, 0, 1) / 2  # what is far behind is no corner
    return 1 - (1 - DIM) * dark[seen]


def _blurred(values: Array, reach: int, axis: int) -> Array:
    """The mean over `reach` points to either side, along an axis."""
    pad = [(reach + 1, reach) if number == axis else (0, 0) for number in range(2)]
    total = np.cumsum(np.pad(values, pad, mode="edge"), axis=axis)
    count = 2 * reach + 1
    ahead = np.take(total, range(count, total.shape[axis]), axis)
    return (ahead - np.take(total, range(total.shape[axis] - count), axis)) / count
