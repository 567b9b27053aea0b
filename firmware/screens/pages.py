"""Pages that are shown between the work: the first one, lists, and the whole instrument. draw.py has the others."""

from .draw import title, tongues
from .glyphs import BODY, SMALL, WORDS
from .ink import WIDE, put
from .typeface import fitted, width


def _start(view, texts, fb, bits):
    name = texts["name"][0]
    # one reed, rivet on the left: plate, slot and tongue
    fb.rect(12, 6, 104, 13, 1)
    fb.fill_rect(15, 8, 16, 9, 1)
    fb.fill_rect(31, 10, 79, 5, 1)
    fb.fill_rect(21, 11, 3, 3, 0)
    put(WORDS, bits, (WIDE - width(WORDS, name)) // 2, 24, name)
    for row, text in enumerate(texts["line"]):
        put(SMALL, bits, (WIDE - width(SMALL, text)) // 2, 46 + 10 * row, text)


def _list(view, texts, fb, bits):
    title(texts, fb, bits)
    y = 2
    for role, text in view.lines:
        if role in ("row", "chosen"):
            y += 12
            if role == "chosen":
                fb.fill_rect(0, y, WIDE, 12, 1)
            put(BODY, bits, 3, y + 1, fitted(BODY, text, 122))
        elif role == "value":
            put(BODY, bits, 125 - width(BODY, text), y + 1, text)


def _whole(view, texts, fb, bits):
    title(texts, fb, bits)
    for row, text in enumerate(texts["line"]):
        put(SMALL, bits, 3, 16 + 10 * row, fitted(SMALL, text, 125))
    tongues(view, fb, 38)


PAGES = {"start": _start, "list": _list, "whole": _whole}
