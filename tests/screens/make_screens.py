"""Makes every picture of the meter's screen with the real drawing code on MicroPython.

python tests/screens/make_screens.py            compare with expected/; differences go to build/screens/
python tests/screens/make_screens.py --accept   take the present pictures as expected, renew docs/screens
"""

import argparse
import json
import subprocess
import sys
from pathlib import Path

from micropython_here import micropython
from PIL import Image, ImageChops

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
EXPECTED = HERE / "expected"
REPORT = ROOT / "build" / "screens"
SHEET = ROOT / "docs" / "screens.png"
PAGE = ROOT / "docs" / "screens.md"
WIDE, TALL = 128, 64
ACROSS, ENLARGED, MARGIN = 3, 3, 12
GROUND, GLASS, LIT = 0xD8, 0x10, 0xF4  # grey values of the sheet, the dark display and a lit pixel


def render():
    """{name: (one-bit image, words)} of all scenes."""
    command = [micropython(), str(HERE / "render.py"), str(ROOT)]
    done = subprocess.run(command, capture_output=True, text=True, encoding="utf-8", timeout=60)
    if done.returncode:
        sys.exit(f"rendering failed: {done.stderr or done.stdout}")
    screens = {}
    for line in done.stdout.splitlines():
        name, pixels, words = json.loads(line)
        screens[name] = (picture(bytes.fromhex(pixels)), words)
    return screens


def picture(bits):
    """The image of a MONO_VLSB frame: one byte is eight pixels of a column, the lowest bit on top."""
    image = Image.new("1", (WIDE, TALL))
    lit = [255 * (bits[(y >> 3) * WIDE + x] >> (y & 7) & 1) for y in range(TALL) for x in range(WIDE)]
    image.putdata(lit)
    return image


def enlarged(image, times=ENLARGED):
    """The screen as it looks: bright pixels with a dark seam between, in grey."""
    big = Image.new("L", (WIDE * times, TALL * times), GLASS)
    for y in range(TALL):
        for x in range(WIDE):
            if image.getpixel((x, y)):
                big.paste(LIT, (x * times, y * times, (x + 1) * times - 1, (y + 1) * times - 1))
    return big


def expected(name):
    """The accepted picture of a scene, or None."""
    path = EXPECTED / f"{name}.png"
    return Image.open(path).convert("1") if path.exists() else None


def show_difference(name, actual):
    """Path of a picture with expected, actual and their difference side by side."""
    before = expected(name) or Image.new("1", (WIDE, TALL))
    changed = ImageChops.logical_xor(before, actual)
    board = Image.new("L", (3 * WIDE * ENLARGED + 2 * MARGIN, TALL * ENLARGED), GROUND)
    for place, image in enumerate((before, actual, changed)):
        board.paste(enlarged(image), (place * (WIDE * ENLARGED + MARGIN), 0))
    REPORT.mkdir(parents=True, exist_ok=True)
    path = REPORT / f"{name}.png"
    board.save(path)
    return path


def contact_sheet(screens):
    """One picture with all screens in rows of ACROSS."""
    wide, tall = WIDE * ENLARGED + MARGIN, TALL * ENLARGED + MARGIN
    rows = -(-len(screens) // ACROSS)
    sheet = Image.new("L", (ACROSS * wide + MARGIN, rows * tall + MARGIN), GROUND)
    for place, (image, _) in enumerate(screens.values()):
        sheet.paste(enlarged(image), (MARGIN + place % ACROSS * wide, MARGIN + place // ACROSS * tall))
    return sheet


def page(screens):
    """The text of docs/screens.md."""
    lines = [
        "# The meter's screens",
        "",
        "Made by `python tests/screens/make_screens.py --accept` with the firmware's own drawing code.",
        f"The picture shows {ACROSS} screens in a row, in the order of the table.",
        "",
        "![all screens](screens.png)",
        "",
        "| screen | its words from top to bottom |",
        "|---|---|",
    ]
    lines += [f"| {name} | {' · '.join(words)} |" for name, (_, words) in screens.items()]
    return "\n".join(lines) + "\n"


def accept(screens):
    """Takes `screens` as expected and renews the pages made of them."""
    EXPECTED.mkdir(exist_ok=True)
    for old in EXPECTED.glob("*.png"):
        if old.stem not in screens:
            old.unlink()
    for name, (image, _) in screens.items():
        if expected(name) is None or expected(name).tobytes() != image.tobytes():
            image.save(EXPECTED / f"{name}.png", optimize=True)
    SHEET.parent.mkdir(exist_ok=True)
    contact_sheet(screens).save(SHEET, optimize=True)
    PAGE.write_text(page(screens), encoding="utf-8")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--accept", action="store_true", help="take the present pictures as expected")
    screens = render()
    if parser.parse_args().accept:
        accept(screens)
        return 0
    changed = [n for n, (image, _) in screens.items() if (b := expected(n)) is None or b.tobytes() != image.tobytes()]
    for name in changed:
        print(f"{name} differs: {show_difference(name, screens[name][0])} (expected, actual, difference)")
    return 1 if changed else 0


if __name__ == "__main__":
    sys.exit(main())
