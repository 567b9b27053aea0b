"""Makes the pictures of README and docs from the program itself: the meter's screens and the bench sheet.

    make pictures

The screens are drawn by the firmware's own code (tests/screens), the sheet is the demo's, looked at with Chromium.
The demo's run stays in build/pictures/demo: what the pages quote beside a picture is copied from there.
"""

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image, ImageChops

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
RUN = ROOT / "build" / "pictures" / "demo"
sys.path.insert(0, str(ROOT / "tests" / "screens"))

import make_screens  # noqa: E402  (the path comes first)

LARGEST = 150_000  # bytes of one picture
TIMES = 4  # how much a screen is enlarged
RIM = 14  # dark glass around the lit area
SEAM = 16  # between two screens
ACROSS = 2
PAPER = 255

# Pictures of screens by name, each of the scenes in tests/screens/scenes.py.
SCREENS = {
    "meter": ("en-done", "en-call", "en-attack", "en-take-1"),
    "ask": ("en-ask",),
    "first": ("en-first",),
    "hold": ("en-attack",),
    "live": ("en-live", "en-live-too-loud"),
    "take": ("en-take-1",),
    "again": ("en-again-apart", "en-again-no-figure"),
    "wrong": ("en-wrong-reed",),
    "redo": ("en-redo",),
    "keys": ("en-keys",),
    "finished": ("en-finished",),
    "whole": ("en-whole",),
    "menu": ("en-menu",),
    "bench": ("en-bench",),
    "bench-low": ("en-bench-low",),
    "check-off": ("en-check-off", "en-check-moved"),
    "check-list": ("en-check-list",),
    "check-kind": ("en-check-kind",),
    "microphone": ("en-microphone", "en-hearing-loud-room", "en-hearing-too-loud", "en-again-weak"),
    "check-pair": ("en-check-pair", "en-check-pair-off"),
    "hearing": ("en-hearing-take",),
}

# Pictures of the sheet by name: width of the window in pixels, and the style that leaves only the part to show.
SHEETS = {
    "sheet": (1280, ".legend, .work, .beats, .end, .pencil { display: none }"),
    "sheet-reeds": (
        900,
        "header, .work, .beats, .end, .plate ~ .plate, .group:nth-child(-n+1), .group:nth-child(n+4) { display: none }"
        " .group { width: 50% } .plate { max-width: none }",
    ),
    "sheet-work": (
        1280,
        "header, .bench, .beats, .end, .stage:nth-of-type(n+4), .work > .note { display: none }"
        " .stage ol { grid-template-columns: repeat(3, 1fr) }",
    ),
}


def main():
    """Makes all of them; those of the sheet only where there is a Chromium."""
    screens = make_screens.render()
    for name, scenes in SCREENS.items():
        save(name, board([screens[scene][0] for scene in scenes]))
    browser = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
    if browser is None:
        print("no chromium: the pictures of the sheet stay as they were")
        return
    shutil.rmtree(RUN, ignore_errors=True)
    program = Path(sys.executable).with_name("reedbench")
    with tempfile.TemporaryFile("w+") as said:
        if subprocess.run([program, "demo", "--out", RUN], stdout=said, stderr=subprocess.STDOUT).returncode:
            said.seek(0)
            sys.exit(f"the demo failed: {said.read()}")
        said.seek(0)
        (RUN / "plan.txt").write_text(said.read(), encoding="utf-8")
    page = (RUN / "sheet.html").read_text(encoding="utf-8")
    for name, (width, style) in SHEETS.items():
        save(name, looked_at(browser, page.replace("</style>", style + "</style>"), width))


def board(images):
    """Enlarged screens beside and below each other, on paper."""
    wide, tall = make_screens.WIDE * TIMES + 2 * RIM, make_screens.TALL * TIMES + 2 * RIM
    columns = min(ACROSS, len(images))
    rows = -(-len(images) // columns)
    size = (columns * (wide + SEAM) - SEAM, rows * (tall + SEAM) - SEAM)
    sheet = Image.new("L", size, PAPER)
    for place, image in enumerate(images):
        glass = Image.new("L", (wide, tall), make_screens.GLASS)
        glass.paste(make_screens.enlarged(image, TIMES), (RIM, RIM))
        sheet.paste(glass, (place % columns * (wide + SEAM), place // columns * (tall + SEAM)))
    return sheet


def looked_at(browser, page, width):
    """The page in a window `width` pixels wide, cut to what stands on it with a margin left."""
    with tempfile.TemporaryDirectory(prefix="reedbench-pictures-") as name:
        folder = Path(name)
        (folder / "page.html").write_text(page, encoding="utf-8")
        command = [browser, "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars"]
        command += [f"--user-data-dir={folder / 'profile'}", f"--window-size={width},2000"]
        command += [f"--screenshot={folder / 'page.png'}", (folder / "page.html").as_uri()]
        subprocess.run(command, capture_output=True, timeout=120, check=True)
        with Image.open(folder / "page.png") as shot:
            image = shot.convert("L")
    left, top, right, bottom = ImageChops.invert(image).getbbox()
    return image.crop((max(0, left - RIM), max(0, top - RIM), min(width, right + RIM), bottom + RIM))


def save(name, image):
    """Writes the picture in sixteen greys, which is all that any of them needs."""
    path = HERE / f"{name}.png"
    image.quantize(16, dither=Image.Dither.NONE).save(path, optimize=True)
    if path.stat().st_size > LARGEST:
        sys.exit(f"{path} takes {path.stat().st_size} bytes; {LARGEST} are allowed")


if __name__ == "__main__":
    main()
