"""The printed case: closed bodies, walls thick enough, nothing inside another, printable without supports.

Looks at the files that are printed. What the parts measure is from memory of their data sheets: measure yours first.
"""

from functools import cache
from importlib import import_module
from itertools import combinations, product
from math import hypot, radians, sin
from typing import Any

import numpy as np
import pytest
from plan import HARDWARE, PLAN

trimesh: Any = import_module("trimesh")
seats: Any = import_module("seats")
renderings: Any = import_module("renderings")
PRINTED = tuple(seats.ON_THE_BED)

STEEPEST = 45.5  # degrees from upright that an overhang may lean
BRIDGE = 5.0  # mm that a printer spans freely (common practice, no source)
DENSITY = 1.27e-3  # g per mm3 of PETG, from memory
FIRM = 15.0  # mm that the meter's middle has to lie within the edges of the stand's foot


@pytest.fixture(scope="module", params=PRINTED)
def mesh(request: pytest.FixtureRequest) -> Any:
    """The file that is printed, as it lies on the bed."""
    return trimesh.load(HARDWARE / "stl" / f"{request.param}.stl")


def test_it_is_closed(mesh: Any) -> None:
    assert mesh.is_watertight and mesh.is_winding_consistent and mesh.volume > 0
    assert mesh.body_count == 1


def test_it_lies_on_the_bed(mesh: Any) -> None:
    assert mesh.bounds[0][2] == pytest.approx(0, abs=1e-6)
    down = (mesh.face_normals[:, 2] < -0.999) & (mesh.triangles_center[:, 2] < 0.01)
    assert mesh.area_faces[down].sum() > 100, "little holds it to the bed"


def test_walls_are_thick_enough(mesh: Any) -> None:
    """From points all over the surface straight inwards to the other side, where that is no sharp corner."""
    points, faces = trimesh.sample.sample_surface_even(mesh, 6000, seed=1)
    inwards = -mesh.face_normals[faces]
    places, rays, hit = mesh.ray.intersects_location(points + 1e-3 * inwards, inwards)
    across = (inwards[rays] * mesh.face_normals[hit]).sum(axis=1) > 0.7  # sides within 45 degrees of parallel
    thick = np.full(len(points), np.inf)
    np.minimum.at(thick, rays[across], np.linalg.norm(places - points[rays], axis=1)[across])
    thin = points[thick < seats.THINNEST - 0.01]
    assert len(thin) == 0, f"{thick.min():.2f} mm at {np.round(thin[:3], 1).tolist()}"


def test_it_prints_without_supports(mesh: Any) -> None:
    leaning = -mesh.face_normals[:, 2] > sin(radians(STEEPEST))
    free = leaning & (mesh.triangles_center[:, 2] > 0.05)
    groups = trimesh.graph.connected_components(
        mesh.face_adjacency[free[mesh.face_adjacency].all(axis=1)], nodes=np.flatnonzero(free), min_len=1
    )
    for group in groups:
        corners = mesh.vertices[mesh.faces[group]].reshape(-1, 3)
        along = np.ptp(corners[:, :2], axis=0)
        assert along.min() <= BRIDGE, f"{along.round(1)} mm hang free at {corners.mean(axis=0).round(1)}"


@cache
def body(name: str) -> list[Any]:
    """A printed part, or the blocks of a part inside, where they belong in the closed meter."""
    if name in PRINTED:
        return [_mesh(renderings.printed(name))]
    return [_mesh(surface.triangles) for surface in renderings.part(name)]


def _mesh(triangles: Any) -> Any:
    made = trimesh.Trimesh(**trimesh.triangles.to_kwargs(triangles))
    made.merge_vertices()
    assert made.is_watertight and made.volume > 0
    return made


def together() -> list[str]:
    """Everything that is in or on the meter."""
    return [*seats.contents(), "shell", "lid", "clip"]


def shared(one: list[Any], other: list[Any]) -> float:
    """Cubic millimetres that two of them share."""
    volume = 0.0
    for pair in product(one, other):
        corners = trimesh.boolean.intersection(list(pair), engine="manifold").triangles
        volume += float(np.einsum("nx,nx->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2]))) / 6
    return volume


@pytest.mark.parametrize(("one", "other"), [*combinations(together(), 2)])
def test_nothing_is_inside_another(one: str, other: str) -> None:
    assert shared(body(one), body(other)) < 0.01


def test_what_is_inside_another_is_seen() -> None:
    """The check above, on a board two millimetres out of its place."""
    moved = [one.copy() for one in body("board")]
    for one in moved:
        one.apply_translation((2.0, 0, 0))
    assert shared(moved, body("shell")) > 1


def test_the_files_are_of_a_case_of_these_sizes() -> None:
    low, high = body("shell")[0].bounds
    assert [*low, *high] == pytest.approx(
        [-seats.WIDTH / 2, -seats.HEIGHT / 2, seats.LID, seats.WIDTH / 2, seats.HEIGHT / 2, seats.DEPTH], abs=0.01
    )
    low, high = body("lid")[0].bounds
    assert [*low[:2], *high[:2]] == pytest.approx([*body("shell")[0].bounds[0][:2], *body("shell")[0].bounds[1][:2]])
    assert low[2] == pytest.approx(0, abs=1e-6)
    assert body("stand")[0].extents[0] == pytest.approx(seats.STAND_WIDTH)


def test_every_part_with_a_size_has_a_seat() -> None:
    outside = {"thermometer", "key", "diode"}  # on a wire outside; on the strip; in heat-shrink in its wire
    assert {part.id for part in PLAN.parts if part.size_mm} == set(seats.SEATS) | outside


def covered(x: float, y: float) -> bool:
    """Whether the face is closed there."""
    return bool(body("shell")[0].ray.intersects_any([(x, y, seats.DEPTH + 10)], [(0, 0, -1)])[0])


def test_the_face_shows_what_it_must() -> None:
    display, microphone, strip = (seats.SEATS[name] for name in ("display", "microphone", "strip"))
    for across in (-0.49, 0.0, 0.49):
        for over in (-0.49, 0.0, 0.49):
            assert not covered(display.x + across * seats.LIT[0], display.y + over * seats.LIT[1]), "the window"
    for angle in np.arange(0, 2 * np.pi, np.pi / 4) + 0.1:
        reach = 0.45 * seats.PORT
        at = microphone.x + reach * np.cos(angle), microphone.y + reach * np.sin(angle)
        assert not covered(*at), "the microphone's port"
    assert all(not covered(x, strip.y) for x in seats.KEYS.values()), "a key's hole"
    assert covered(seats.KEY_PITCH / 2, strip.y) and covered(microphone.x + 3, microphone.y)
    assert seats.KEY_ABOVE >= 1.0


def test_plugs_and_switch_reach_in() -> None:
    """Rays from the sides at the height of sockets and knob meet these before they meet the case."""
    for part, side in (("board", 1), ("charger", 1), ("switch", -1)):
        target = body(part)[1]
        start = [(side * 60.0, target.centroid[1], target.centroid[2])]
        at, *_ = target.ray.intersects_location(start, [(-side, 0, 0)])
        walls = [body(name)[0].ray.intersects_location(start, [(-side, 0, 0)])[0] for name in ("shell", "lid")]
        nearest = max(side * at[:, 0])
        assert all(len(hits) == 0 or max(side * hits[:, 0]) < nearest for hits in walls), f"the {part} is walled in"


def test_the_microphones_wires_are_short() -> None:
    board, microphone = seats.SEATS["board"], seats.SEATS["microphone"]
    width, height, _ = seats.SIZE["board"]
    corner = (board.x - width / 2, board.y - height / 2)  # the farthest that a pad of the board can be
    flat = hypot(microphone.x - corner[0], microphone.y - corner[1])
    assert flat + (microphone.z - board.z) < 100


def test_the_meter_stands_firmly_in_its_stand() -> None:
    middle, _ = seats.leaning(seats.DEPTH / 2, seats.HEIGHT / 2)
    low, high = body("stand")[0].bounds
    assert low[1] + FIRM < middle < high[1] - FIRM
    z = [seats.leaning(u, v)[1] for u in (0, seats.DEPTH) for v in (0, seats.HEIGHT)]
    assert min(z) > low[2] + 3.9, "it stands lower than the foot's upper side"


def test_the_meter_and_its_stand_do_not_cross() -> None:
    for name in ("shell", "lid"):
        standing = _mesh(renderings.in_stand(renderings.printed(name)))
        assert shared([standing], body("stand")) < 0.01


def test_it_takes_as_much_plastic_as_the_parts_list_says() -> None:
    grams = sum(float(body(name)[0].volume) for name in PRINTED) * DENSITY
    [words] = [part.what for part in PLAN.parts if part.id == "case"]
    most = int(words.split("at most ")[1].split(" g")[0])
    assert 0.9 * most < grams <= most, f"{grams:.0f} g when solid"
