"""The meter's screens, drawn by the firmware on real MicroPython, against the pictures that were accepted."""

import importlib
import runpy
import sys
from pathlib import Path

import pytest

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]
sys.path.insert(0, str(HERE))
sys.path.insert(0, str(ROOT / "firmware"))

import make_glyphs  # noqa: E402
import make_screens  # noqa: E402
from budgets import BUDGETS, REASON  # noqa: E402
from micropython_here import micropython  # noqa: E402
from screens import glyphs, typeface, view  # noqa: E402
from screens.words import Words  # noqa: E402
from wire import record  # noqa: E402

LANGUAGES = ("en", "de")


def strings(language):
    """{name: words or tuple of words} of a language; no mode has a name twice, its own or what all have."""
    sections = importlib.import_module(f"screens.strings_{language}").SECTIONS
    found = {}
    for mode, said in sections.items():
        words = Words("\n" + said)
        names = [line.partition("=")[0] for line in said.split("\n") if line]
        assert len(names) == len(set(names))
        for name in names:
            assert mode == "common" or f"\n{name}=" not in "\n" + sections["common"]
            found[mode, name] = words[name]
    return found


@pytest.fixture(scope="module")
def screens():
    if micropython() is None:
        pytest.skip("this system has no MicroPython Unix port")
    return make_screens.render()


def test_every_screen_is_as_accepted(screens):
    changed = [
        str(make_screens.show_difference(name, image))
        for name, (image, _) in screens.items()
        if make_screens.expected(name) is None or make_screens.expected(name).tobytes() != image.tobytes()
    ]
    assert not changed, f"expected, actual, difference: {changed}; make_screens.py --accept takes them over"


def test_every_accepted_picture_has_a_screen(screens):
    assert {path.stem for path in make_screens.EXPECTED.glob("*.png")} == set(screens)


def test_page_of_screens_is_current(screens):
    assert make_screens.PAGE.read_text(encoding="utf-8") == make_screens.page(screens)


def test_a_changed_pixel_is_noticed_and_shown(screens, tmp_path, monkeypatch):
    monkeypatch.setattr(make_screens, "REPORT", tmp_path)
    image = screens["en-again"][0].copy()
    image.putpixel((64, 32), 255 - image.getpixel((64, 32)))
    assert make_screens.expected("en-again").tobytes() != image.tobytes()
    path = make_screens.show_difference("en-again", image)
    with make_screens.Image.open(path) as board:
        third = board.crop((2 * (128 * 3 + 12), 0, board.width, board.height))
        lit = [value for value in third.tobytes() if value == make_screens.LIT]
    assert len(lit) == 4, "one pixel differs: two by two points of the enlarged picture"


def test_words_a_player_reads(screens):
    assert screens["en-again"][1][:3] == ["Hole 3", "draw", "slide in"]
    assert {"-12.4", "±0.3 c", "sound it again", "take 2"} <= set(screens["en-again"][1])
    assert "that was 12 draw in" in screens["en-wrong-reed"][1]
    assert "takes differ by 6.4 c" in screens["en-again-apart"][1]
    assert "breath bent the pitch" in screens["en-again-no-figure"][1]
    assert {"open", "mouth"} <= set(screens["en-call"][1]) & set(screens["en-again"][1]) & set(
        screens["en-finished"][1]
    )
    assert {"How is it sounded?", "covers off", "Hole 1"} <= set(screens["en-ask"][1])
    assert screens["de-call"][1][:3] == ["Kanal 3", "ziehen", "Schieber rein"]


def test_main_figure_is_at_least_24_pixels_tall():
    deep, _, signs, widths, columns = glyphs.LARGE
    for sign in "0123456789":
        start = sum(widths[: signs.index(sign)]) * deep
        end = start + deep * widths[signs.index(sign)]
        rows = 0
        for at in range(start, end, deep):
            rows |= int.from_bytes(columns[at : at + deep], "little")
        assert bin(rows).count("1") >= 24, sign


def test_glyphs_are_those_that_are_drawn():
    made = {}
    exec(make_glyphs.source(), made)
    kept = runpy.run_path(str(make_glyphs.GLYPHS))
    for face in ("SMALL", "BODY", "WORDS", "LARGE"):
        assert kept[face] == made[face], f"{face}: run tests/screens/make_glyphs.py"


def test_languages_have_the_same_keys_and_no_flag_is_without_words():
    first, *others = [strings(language) for language in LANGUAGES]
    for other in others:
        assert list(other) == list(first)
    assert set(record.FLAGS) <= {name for _, name in first}
    assert {budgeted(*key) for key in first} == set(BUDGETS) | set(record.FLAGS), "every string needs a budget"


def budgeted(mode, name):
    """The key in BUDGETS: a mode may have a budget of its own for a name that others have too."""
    own = f"{mode}: {name}"
    return own if own in BUDGETS else name


@pytest.mark.parametrize("language", LANGUAGES)
def test_every_string_fits(language):
    text = strings(language)
    too_long = []
    words = {name: said for (mode, name), said in text.items() if mode == "common"}
    for (mode, name), said in text.items():
        key = budgeted(mode, name)
        face_name, room, values = BUDGETS.get(key, REASON)
        face = getattr(glyphs, face_name)
        lines = said if isinstance(said, tuple) else (said,)
        for line, given in zip(lines, values if isinstance(values, list) else [values] * len(lines), strict=True):
            given = tuple(v.format_map(words) if isinstance(v, str) else v for v in given)
            needed = line % given if "%" in line else line
            if not typeface.has(face, needed):
                too_long.append(f"{key}: {needed!r} has characters that {face_name} lacks")
            elif typeface.width(face, needed) > room:
                too_long.append(f"{key}: {needed!r} takes {typeface.width(face, needed)} of {room} pixels")
    assert not too_long, too_long


def test_a_view_equals_only_one_that_looks_the_same():
    lines = (("title", "a"), ("line", "b"))
    same = view.View("message", lines)
    assert same == view.View("message", list(lines))
    assert same != view.View("message", lines[:1])
    assert same != view.View("message", lines, sounding=True)
    assert same != view.View("message", lines, tongues=(b"\0",))
