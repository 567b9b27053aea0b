"""What is made of the wiring as text: the firmware's pin file, the parts list, the tables of README.md."""

import csv
import io

from wiring import Wiring

_PINS = '''"""Which pin goes where; nothing else in the firmware knows. Numbers are GPIO numbers, not board pins.

Made from hardware/wiring.toml by `make hardware`.
"""
'''


def pin_file(wiring: Wiring) -> str:
    """firmware/boards/pico/pins.py."""
    groups = []
    for group in wiring.constants:
        lines = [f"# {line}" for line in group["comment"].strip().splitlines()]
        lines += [f"{name} = {_value(wiring, text)}" for name, text in group["values"].items()]
        groups.append("\n".join(lines) + "\n")
    return "\n".join([_PINS, *groups])


def _value(wiring: Wiring, text: str) -> str:
    return str(wiring.gpio(text)) if "." in text.partition(" ")[0] else text


def bom(wiring: Wiring) -> str:
    """bom.csv: one line a part."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\n")
    table.writerow(["part", "count", "what", "equivalents", "what matters", "pieces", "optional", "rough_price_eur"])
    for part in wiring.parts:
        pieces = " ".join(part.used) if len(part.used) > 1 else ""
        price = f"{part.count * part.price_eur:.2f}"
        optional = "yes" if part.optional else ""
        table.writerow(
            [part.id, part.count, part.what, "; ".join(part.equivalents), part.matters, pieces, optional, price]
        )
    return out.getvalue()


def parts_table(wiring: Wiring) -> str:
    """Markdown: what to buy."""
    rows = ["| part | pieces | kind | what matters | euros |", "|---|---|---|---|---|"]
    for part in wiring.parts:
        name = f"{part.name} (optional)" if part.optional else part.name
        rows.append(f"| {name} | {part.count} | {part.what} | {part.matters} | {part.count * part.price_eur:.2f} |")
    total = sum(part.count * part.price_eur for part in wiring.parts if not part.optional)
    rows += ["", f"Together {total:.2f} euros without the optional part: all prices are rough and from memory."]
    return "\n".join(rows) + "\n"


def signals_table(wiring: Wiring) -> str:
    """Markdown: the wires that end at a GPIO."""
    rows = ["| GPIO | board pin | goes to |", "|---|---|---|"]
    for wire in sorted((wire for wire in wiring.wires if wire.signal), key=lambda wire: int(wire.end.name)):
        gpio = wiring.board_pad(wire.end).removeprefix("GP")
        rows.append(f"| {gpio} | {wire.end.name} | {wire.signal} |")
    return "\n".join(rows) + "\n"


def wires_table(wiring: Wiring) -> str:
    """Markdown: every wire, in the order of soldering."""
    rows = ["| wire | colour | from | to | step |", "|---|---|---|---|---|"]
    for wire in wiring.wires:
        end = f"board pin {wire.end.name}, {wiring.board_pad(wire.end)}" if wire.end.owner == "board" else wire.end
        rows.append(f"| {wire.number} | {wire.colour} | {wire.start} | {end} | {wire.step} |")
    return "\n".join(rows) + "\n"
