"""Line drawings of what sits where in the case, as SVG; renderings.py makes the shaded pictures of the whole."""

import re
from math import hypot
from pathlib import Path

import enclosure as case
from build123d import Compound, ExportSVG, Part
from wiring import HERE

_FRONT, _BEHIND = (90, -160, 420), (-60, -140, -420)


def draw(folder: Path) -> None:
    """Writes the pictures into `folder`."""
    inside = case.contents()
    lid = {name: inside[name] for name in ("board", "cell", "charger", "switch")}
    face = {"display": inside["display"], "microphone": inside["microphone"], "strip with keys": inside["strip"]}
    keys = [inside[name] for name in inside if name.startswith("key")]
    _picture(folder / "case-lid.svg", [case.lid()], lid, _FRONT)
    _picture(folder / "case-face.svg", [case.shell(), *keys], face, _BEHIND)
    _picture(folder / "case-back.svg", [case.lid(), case.clip()], {}, (-200, 60, -300))


def _picture(
    path: Path, bodies: list[Part], named: dict[str, Part], eye: tuple[float, ...], up: tuple[int, ...] = (0, 1, 0)
) -> None:
    """Draws what can be seen of the bodies from far away in the direction of `eye`, with names on the named ones."""
    seen, _ = Compound([*bodies, *named.values()]).project_to_viewport(eye, viewport_up=up, look_at=(0, 0, 0))
    export = ExportSVG(scale=4, margin=3, line_weight=0.5)
    export.add_shape(seen)
    export.write(str(path))
    text = re.sub(r"(\d\.\d\d\d)\d+", r"\1", path.read_text(encoding="utf-8"))
    left, top, width, height = map(float, re.search(r'viewBox="(\S+) (\S+) (\S+) (\S+)"', text).groups())
    left, top, width, height = left - 2, top - 2, width + 4, height + 4
    paper = f'<rect x="{left:.1f}" y="{top:.1f}" width="{width:.1f}" height="{height:.1f}" fill="#fff"/>'
    head = f'width="480" height="{480 * height / width:.0f}" viewBox="{left:.1f} {top:.1f} {width:.1f} {height:.1f}"'
    names = "".join(_name(name, *_flat(tuple(body.center()), eye, up)) for name, body in named.items())
    text = re.sub(r'width="\S+mm" height="\S+mm" viewBox="[^"]*"( [^>]*)>', rf"{head}\1>\n  {paper}", text, count=1)
    text = text.replace("</svg>", f"{names}</svg>")
    path.write_text(text, encoding="utf-8")


def _flat(point: tuple[float, ...], eye: tuple[float, ...], up: tuple[int, ...]) -> tuple[float, float]:
    """Where a point is seen: along the picture to the right and up."""
    right = _unit(_cross(up, eye))
    over = _unit(_cross(eye, right))
    return sum(map(float.__mul__, point, right)), sum(map(float.__mul__, point, over))


def _cross(a: tuple[float, ...], b: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(float(a[i - 2] * b[i - 1] - a[i - 1] * b[i - 2]) for i in range(3))


def _unit(a: tuple[float, ...]) -> tuple[float, ...]:
    return tuple(value / hypot(*a) for value in a)


def _name(words: str, x: float, y: float) -> str:
    style = 'font-family="DejaVu Sans, Verdana, sans-serif" font-size="4" text-anchor="middle" fill="#05a"'
    return f'  <text x="{x:.1f}" y="{1.5 - y:.1f}" {style}>{words}</text>\n'


if __name__ == "__main__":
    draw(HERE / "pictures")
