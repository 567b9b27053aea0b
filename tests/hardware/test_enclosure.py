"""The case: closed bodies, walls thick enough, nothing inside another, printable without supports.

Needs reedbench's extra `hardware`. What the parts measure is from memory of their data sheets: measure yours first.
"""

import re
from importlib import import_module
from itertools import combinations
from math import hypot, radians, sin
from pathlib import Path
from typing import Any

import pytest
from plan import HARDWARE, PLAN

pytest.importorskip("build123d", reason="the case needs build123d: pip install 'host[hardware]'")
trimesh: Any = pytest.importorskip("trimesh", reason="the case needs trimesh: pip install 'host[hardware]'")
np: Any = import_module("numpy")
case: Any = import_module("enclosure")
PRINTED = tuple(case.PRINTED)

STEEPEST = 45.5  # degrees from upright that an overhang may lean
BRIDGE = 5.0  # mm that a printer spans freely (common practice, no source)
DENSITY = 1.27e-3  # g per mm3 of PETG, from memory


@pytest.fixture(scope="module", params=PRINTED)
def mesh(request: pytest.FixtureRequest) -> Any:
    """The file that is printed."""
    return trimesh.load(HARDWARE / "stl" / f"{request.param}.stl")


@pytest.mark.parametrize("name", PRINTED)
def test_the_file_is_of_this_very_part(name: str) -> None:
    made, there = case.for_printing(name), trimesh.load(HARDWARE / "stl" / f"{name}.stl")
    box = made.bounding_box()
    assert len(made.solids()) == 1 and made.is_valid
    assert there.volume == pytest.approx(made.volume, rel=0.002), "run `make hardware`"
    assert there.bounds.ravel() == pytest.approx([*box.min, *box.max], abs=0.02), "run `make hardware`"


def test_the_pictures_show_it(tmp_path: Path) -> None:
    """By their lines; the last digits may differ from one computer to another."""
    import_module("enclosure_pictures").draw(tmp_path)
    for path in tmp_path.iterdir():
        there, now = ((folder / path.name).read_text() for folder in (HARDWARE / "pictures", tmp_path))
        assert re.sub(r"[\d.-]", "", there) == re.sub(r"[\d.-]", "", now), f"run `make hardware` for {path.name}"


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
    thin = points[thick < case.THINNEST - 0.01]
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


def together() -> list[tuple[str, Any]]:
    """Everything that is in or on the meter."""
    return [*case.contents().items(), ("shell", case.shell()), ("lid", case.lid()), ("clip", case.clip())]


@pytest.mark.parametrize("pair", list(combinations(together(), 2)), ids=lambda pair: f"{pair[0][0]}-{pair[1][0]}")
def test_nothing_is_inside_another(pair: Any) -> None:
    (_, one), (_, other) = pair
    common = one & other
    assert sum(body.volume for body in (common.solids() if common else [])) < 0.01


def test_every_part_with_a_size_has_a_seat() -> None:
    outside = {"thermometer", "key", "diode"}  # on a wire outside; on the strip; in heat-shrink in its wire
    assert {part.id for part in PLAN.parts if part.size_mm} == set(case.SEATS) | outside


def test_the_face_shows_what_it_must() -> None:
    for x in (-20, 20):
        assert not case.shell().is_inside((x / 2, case.SEATS["display"].y, case.DEPTH - 1)), "the window is covered"
    assert case.WINDOW[0] > 21.74 and case.WINDOW[1] > 10.86  # lit area of a 0.96 inch module, from memory
    microphone = case.SEATS["microphone"]
    assert not case.shell().is_inside((microphone.x, microphone.y, case.DEPTH - 1)), "the microphone's port is covered"
    assert case.KEY_ABOVE >= 1.0


def test_the_microphones_wires_are_short() -> None:
    board, microphone = case.SEATS["board"], case.SEATS["microphone"]
    width, height, _ = case.SIZE["board"]
    corner = (board.x - width / 2, board.y - height / 2)  # the farthest that a pad of the board can be
    flat = hypot(microphone.x - corner[0], microphone.y - corner[1])
    assert flat + (microphone.z - board.z) < 100


def test_the_meter_stands_firmly_in_its_stand() -> None:
    middle, _ = case.leaning(case.DEPTH / 2, case.HEIGHT / 2)
    foot = case.stand().bounding_box()
    assert foot.min.Y + 15 < middle < foot.max.Y - 15
    z = [case.leaning(u, v)[1] for u in (0, case.DEPTH) for v in (0, case.HEIGHT)]
    assert min(z) > 3, "the meter would stand on the bench, not in the stand"


def test_it_takes_as_much_plastic_as_the_parts_list_says() -> None:
    grams = sum(case.PRINTED[name]().volume for name in PRINTED) * DENSITY
    [words] = [part.what for part in PLAN.parts if part.id == "case"]
    most = int(words.split("at most ")[1].split(" g")[0])
    assert 0.9 * most < grams <= most, f"{grams:.0f} g when solid"
