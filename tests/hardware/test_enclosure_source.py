"""What is printed and drawn of the case is of these very shapes. Needs reedbench's extra `hardware`."""

import re
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest
from plan import HARDWARE

pytest.importorskip("build123d", reason="the shapes of the case need build123d: pip install 'host[hardware]'")
trimesh: Any = import_module("trimesh")
case: Any = import_module("enclosure")


@pytest.mark.parametrize("name", case.PRINTED)
def test_the_file_is_of_this_very_part(name: str) -> None:
    made, there = case.for_printing(name), trimesh.load(HARDWARE / "stl" / f"{name}.stl")
    box = made.bounding_box()
    assert len(made.solids()) == 1 and made.is_valid
    assert there.volume == pytest.approx(made.volume, rel=0.002), "run `make hardware`"
    assert there.bounds.ravel() == pytest.approx([*box.min, *box.max], abs=0.02), "run `make hardware`"


def test_the_line_drawings_show_it(tmp_path: Path) -> None:
    """By their lines; the last digits may differ from one computer to another."""
    import_module("enclosure_pictures").draw(tmp_path)
    for path in tmp_path.iterdir():
        there, now = ((folder / path.name).read_text() for folder in (HARDWARE / "pictures", tmp_path))
        assert re.sub(r"[\d.-]", "", there) == re.sub(r"[\d.-]", "", now), f"run `make hardware` for {path.name}"
