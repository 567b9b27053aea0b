"""Makes from wiring.toml what follows from it: pin file, parts list, tables of README.md, drawings.

.venv/bin/python hardware/make_hardware.py    write them; needs nothing but Python
"""

import re
from pathlib import Path

import drawing
import tables
import wiring

ROOT = wiring.HERE.parent
README = wiring.HERE / "README.md"


def made() -> dict[Path, str]:
    """Every made file and what belongs in it."""
    plan = wiring.read()
    pictures = wiring.HERE / "pictures"
    files = {
        ROOT / "firmware" / "boards" / "pico" / "pins.py": tables.pin_file(plan),
        wiring.HERE / "bom.csv": tables.bom(plan),
        README: filled(README.read_text(encoding="utf-8"), plan),
        pictures / "wiring.svg": drawing.svg(plan),
    }
    for number, step in enumerate([drawing.BARE, *plan.steps]):
        files[pictures / f"step-{number}-{step}.svg"] = drawing.svg(plan, step)
    return files


def filled(page: str, plan: wiring.Wiring) -> str:
    """The page with its made tables put in anew, each between `<!-- made: NAME -->` and `<!-- end -->`."""
    for name in ("parts", "signals", "wires"):
        table = getattr(tables, f"{name}_table")(plan)
        pattern = re.compile(rf"(<!-- made: {name} -->\n).*?(<!-- end -->)", re.DOTALL)
        page, count = pattern.subn(rf"\1\n{table}\n\2", page)
        assert count == 1, f"README.md has {count} places for the table of {name}"
    return page


if __name__ == "__main__":
    for path, text in made().items():
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
