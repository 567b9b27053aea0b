"""What is made of the wiring is up to date, and drawings, parts list and pages say the same."""

import csv
import re
from importlib import import_module
from itertools import combinations, pairwise
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import pytest
from plan import HARDWARE, PLAN, ROOT, named, nets

make_hardware: Any = import_module("make_hardware")
drawing: Any = import_module("drawing")
MADE = make_hardware.made()
SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("path", MADE, ids=lambda path: path.relative_to(ROOT).as_posix())
def test_a_made_file_is_up_to_date(path: Path) -> None:
    there = path.read_text(encoding="utf-8") if path.exists() else ""
    assert there == MADE[path], f"run `make hardware` and look at what changes in {path.relative_to(ROOT)}"


def test_no_old_drawing_lies_about() -> None:
    made = {path.name for path in MADE}
    assert {path.name for path in (HARDWARE / "pictures").glob("step-*.svg")} <= made


def lines(step: str = "") -> list[list[tuple[float, float]]]:
    """The corners of every wire in colour, in the order of their numbers."""
    root = ElementTree.fromstring(drawing.svg(PLAN, step))
    found = []
    for path in root.iter(f"{SVG}path"):
        if path.get("stroke-width") == "3":
            corners: list[tuple[float, float]] = []
            for kind, x, y in re.findall(r"([MHV])(\d+)(?: (\d+))?", path.get("d", "")):
                last = corners[-1] if corners else (0.0, 0.0)
                to = {"M": (float(x), float(y or 0)), "H": (float(x), last[1]), "V": (last[0], float(x))}
                corners.append(to[kind])
            found.append(corners)
    return found


@pytest.mark.parametrize("step", ["", *PLAN.steps])
def test_a_drawing_shows_the_wires_of_its_step(step: str) -> None:
    root = ElementTree.fromstring(drawing.svg(PLAN, step))
    texts = list(root.iter(f"{SVG}text"))
    words = [text.text or "" for text in texts]
    wires = [wire for wire in PLAN.wires if not step or wire.step == step]
    numbers = [text.text for text in texts if text.get("font-size") == "11"]
    assert numbers == [str(wire.number) for wire in wires]
    assert len(lines(step)) == len(wires)
    for wire in wires:
        for pad in (wire.start, wire.end):
            if pad.owner != "board":
                assert any(word.startswith(pad.owner.replace("_", " ")) for word in words) and pad.name in words


def test_a_drawn_wire_ends_at_its_pad_of_the_board() -> None:
    root = ElementTree.fromstring(drawing.svg(PLAN))
    elements = list(root)
    labels = {}
    for circle, text in pairwise(elements):
        if circle.tag == f"{SVG}circle" and circle.get("r") == "5":
            labels[float(circle.get("cx", 0)), float(circle.get("cy", 0))] = text.text
    assert len(labels) == 40
    for wire, corners in zip(PLAN.wires, lines(), strict=True):
        if wire.end.owner == "board":
            assert labels[corners[-1]] == f"{wire.end.name} {PLAN.board_pad(wire.end)}"


def test_wires_that_are_not_joined_never_run_along_each_other() -> None:
    joined = nets()
    for (one, first), (other, second) in combinations(zip(PLAN.wires, lines(), strict=True), 2):
        if not any({named(one.start), named(other.start)} <= net for net in joined):
            assert not overlap(first, second), f"wires {one.number} and {other.number} are drawn over each other"


def overlap(first: list[tuple[float, float]], second: list[tuple[float, float]]) -> bool:
    """Whether two lines share more than points."""
    for (ax, ay), (bx, by) in pairwise(first):
        for (cx, cy), (dx, dy) in pairwise(second):
            across = ay == by == cy == dy and min(max(ax, bx), max(cx, dx)) > max(min(ax, bx), min(cx, dx))
            down = ax == bx == cx == dx and min(max(ay, by), max(cy, dy)) > max(min(ay, by), min(cy, dy))
            if across or down:
                return True
    return False


def test_the_parts_list_has_every_piece_that_is_wired() -> None:
    with (HARDWARE / "bom.csv").open(encoding="utf-8", newline="") as file:
        rows = {row["part"]: row for row in csv.DictReader(file)}
    pieces = {pad.owner for wire in PLAN.wires for pad in (wire.start, wire.end)}
    for piece in pieces:
        row = rows[PLAN.part(piece).id]
        assert piece == row["part"] or piece in row["pieces"].split()
        assert row["what"] and row["equivalents"] and row["what matters"]
        assert int(row["count"]) == max(1, len(row["pieces"].split()))


def test_every_step_is_told_and_shown() -> None:
    page = (HARDWARE / "assembly.md").read_text(encoding="utf-8")
    for number, step in enumerate(PLAN.steps, start=1):
        assert f"](pictures/step-{number}-{step}.svg)" in page
        numbers = [wire.number for wire in PLAN.wires if wire.step == step]
        assert f"Wires {numbers[0]} to {numbers[-1]}" in page, f"assembly.md names other wires in step {step}"
