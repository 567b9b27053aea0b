"""A reed of the drawing as SVG. A sheet has dozens of them, a site of many instruments tens of thousands: hence a
function and no template."""

from markupsafe import Markup, escape

from reedbench.sheet.drawing import BODY_TOP, MASS, PAD, PlateDrawing, ReedDrawing


def reed_svg(reed: ReedDrawing, plate: PlateDrawing) -> Markup:
    """The group of one reed: names, slot and tongue, what is done to it and by how much."""
    item, x, bottom = reed.item, reed.x, BODY_TOP + plate.body
    lines = [
        f'<g class="{item.reed.face or "plain"}">',
        f'<text x="{x}" y="31">{escape(item.reed.breath)}</text>',
        f'<text class="note" x="{x}" y="47">{escape(item.reed.note)}</text>',
    ]
    if plate.mouth:
        y = bottom - 6 if plate.mouth == "above" else BODY_TOP + 12
        lines.append(f'<text class="face" x="{x}" y="{y}">{item.reed.face}</text>')
    lines += [
        _rect("slot", x - 12, f"{reed.slot_top:.1f}", 24, f"{reed.length:.1f}"),
        _rect("tongue", x - 9, f"{reed.slot_top + 2:.1f}", 18, f"{reed.length - 4:.1f}"),
        _rect("pad", x - 14, f"{reed.pad_top:.1f}", 28, PAD),
    ]
    if item.zone:
        lines.append(_rect("patch", x - 9, f"{reed.patch_top:.1f}", 18, f"{reed.patch_height:.1f}"))
    if item.weighted:
        lines.append(_rect("mass", x - 12, f"{reed.mass_top:.1f}", 24, MASS))
    if reed.wave:
        lines.append(f'<path class="wave" d="{reed.wave}"/>')
    if item.action == "inspect":
        lines.append(_rect("tab", x - 20, bottom + 12, 40, 28))
        lines.append(f'<text class="look" x="{x}" y="{bottom + 31}">{reed.word}</text>')
    else:
        move, word = ("move", "word") if item.order else ("leave", "leave")
        lines.append(f'<text class="{move}" x="{x}" y="{bottom + 22}">{reed.move}</text>')
        lines.append(f'<text class="{word}" x="{x}" y="{bottom + 37}">{reed.word}</text>')
    if item.order:
        lines.append(f'<text class="order" x="{x}" y="{bottom + 53}">no. {item.order}</text>')
    return Markup("\n".join([*lines, "</g>"]))


def _rect(name: str, x: float, y: float | str, width: int, height: float | str) -> str:
    return f'<rect class="{name}" x="{x}" y="{y}" width="{width}" height="{height}"/>'
