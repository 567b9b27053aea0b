"""From a View to 128 x 64 pixels.

A take is drawn as a laboratory draws a measurement: an upright bar, as long as its uncertainty, beside a
bracket that stands for the tolerance and never moves; takes of one reed stand side by side, so that one sees
whether they agree. The reeds of a plate are tongues in a row: filled done, hollow missing, hatched doubtful.
"""

import math

from .glyphs import BODY, LARGE, SMALL, WORDS
from .ink import WIDE, put
from .typeface import fitted, has, width

TALL = 64


def paint(view, fb):
    """Draws `view` into `fb`, a framebuf.FrameBuffer of 128 x 64 in MONO_VLSB. What was there is gone."""
    fb.fill(0)
    bits = memoryview(fb)
    texts = {}
    for role, text in view.lines:
        texts.setdefault(role, []).append(text)
    if view.page in _PAGES:
        _PAGES[view.page](view, texts, fb, bits)
        return
    from . import pages  # loaded when such a page is shown, forgotten with the mode that shows it

    pages.PAGES[view.page](view, texts, fb, bits)


def _message(view, texts, fb, bits):
    title(texts, fb, bits)
    step = 11 if view.tongues else 12
    for row, text in enumerate(texts.get("line", ())[:4]):
        put(BODY, bits, 3, 16 + step * row, fitted(BODY, text, 125))
    tongues(view, fb, 50)


def title(texts, fb, bits):
    """The title on a filled bar, 13 pixels tall, and at its other end what belongs there in small."""
    fb.fill_rect(0, 0, WIDE, 13, 1)
    words = fitted(BODY, texts["title"][0], 122)
    put(BODY, bits, 3, 2, words)
    room = 118 - width(BODY, words)
    state = fitted(SMALL, " ".join(texts.get("state", ())), room)
    put(SMALL, bits, 125 - width(SMALL, state), 3, state)


def _ask(view, texts, fb, bits):
    title(texts, fb, bits)
    for row, (key, choice) in enumerate(zip(texts["key"], texts["choice"])):
        put(SMALL, bits, 3, 18 + 12 * row, key)
        put(BODY, bits, 30, 16 + 12 * row, fitted(BODY, choice, WIDE - 30))
    _line(bits, 3, 53, _where(texts))


def _call(view, texts, fb, bits):
    label, place = texts["place"][0].split(" ", 1)
    x = put(SMALL, bits, 0, 20, label) + 1
    edge = max([x] + [put(SMALL, bits, 0, 9 * row, word) + 1 for row, word in enumerate(texts["state"])])
    x = put(LARGE, bits, edge, 1, place) if has(LARGE, place) else put(BODY, bits, x + 1, 18, place)
    x = max(x, edge) + 4
    # The first of these is called large.
    called, *more = texts.get("breath", []) + texts.get("slide", []) + texts.get("member", []) or [""]
    face = WORDS if has(WORDS, called) and width(WORDS, called) <= WIDE - x else BODY
    put(face, bits, x, 0, fitted(face, called, WIDE - x))
    put(BODY, bits, x, 19, fitted(BODY, " ".join(more), WIDE - x))
    _task(view, texts, fb, bits, 31)
    count = texts["count"][0]
    room = WIDE - width(SMALL, count)
    put(SMALL, bits, room, 43, count)
    if "note" in texts:
        put(SMALL, bits, 0, 43, fitted(SMALL, texts["note"][0], room - 3))
    tongues(view, fb, 52)


def _figure(view, texts, fb, bits):
    _line(bits, 0, 0, _where(texts))
    if "figure" in texts:
        x = edge = put(LARGE, bits, 0, 12, texts["figure"][0]) + 1
        for uncertainty in texts.get("spread", ()):
            x = put(BODY, bits, max(edge, 76 - width(BODY, uncertainty) // 2), 29, uncertainty)
    else:
        x = edge = put(WORDS, bits, 0, 17, texts["no figure"][0]) + 1
    for row, word in enumerate(texts.get("state", ())):
        x = max(x, put(SMALL, bits, max(edge, 77), 12 + 8 * row, word))
    if x < 107:  # only a figure of four digits leaves no room, and its plot would say nothing
        _plot(view, fb, 107, 12)
    _task(view, texts, fb, bits, 41)
    if "note" in texts:
        put(BODY, bits, 0, 53, fitted(BODY, texts["note"][0], WIDE))


def _where(texts):
    """The reed's address on one line."""
    return " ".join([word for role in ("place", "breath", "slide", "member") for word in texts.get(role, ())])


def _line(bits, x, y, words):
    """One line of text in the largest face it fits in."""
    face = BODY if width(BODY, words) <= WIDE - x else SMALL
    put(face, bits, x, y if face is BODY else y + 2, fitted(face, words, WIDE - x))


def _task(view, texts, fb, bits, y):
    """What to do and which take it is; on a filled bar while a tone is heard."""
    if view.sounding:
        fb.fill_rect(0, y - 1, WIDE, 11, 1)
    inset = 3 if view.sounding else 0
    room = WIDE - inset
    if "take" in texts:
        take = texts["take"][0]
        room -= width(BODY, take)
        put(BODY, bits, room, y, take)
        room -= 4
    put(BODY, bits, inset, y, fitted(BODY, texts["task"][0], room - inset))


def _plot(view, fb, x, y):
    """Takes within the brackets of the tolerance, sharp upwards, in 21 x 27 pixels from x, y."""
    middle = y + 13
    reach = 6
    for side, serif in ((x, x), (x + 20, x + 18)):
        fb.vline(side, middle - reach, 2 * reach + 1, 1)
        fb.hline(serif, middle - reach, 3, 1)
        fb.hline(serif, middle + reach, 3, 1)
    wide, step = (4, 5) if len(view.takes) <= 3 else (2, 3)
    left = x + 11 - (step * len(view.takes)) // 2
    for place, take in enumerate(view.takes):
        if take is not None:
            top = middle - _height(take[0] + take[1], view.tolerance, reach)
            foot = middle - _height(take[0] - take[1], view.tolerance, reach)
            fb.fill_rect(left + step * place, min(top, foot - 1), wide, max(2, foot - top + 1), 1)


def _height(cents, tolerance, reach):
    """Pixels above the middle: even within the tolerance, by octaves of it beyond, at most 12."""
    ratio = abs(cents) / max(tolerance, 1)
    pixels = reach * ratio if ratio <= 1 else min(12, reach + 2 * math.log(ratio) / math.log(2))
    return round(pixels if cents > 0 else -pixels)


def tongues(view, fb, y):
    """A row of tongues per plate, from y to the edge, with a gap and a bar for the wanted one."""
    if not view.tongues:
        return
    tall = (TALL - y) // len(view.tongues)
    for row, marks in enumerate(view.tongues):
        top = y + tall * row
        pitch = max(2, min(6, WIDE // max(len(marks), 1)))
        for place, mark in enumerate(marks):
            if view.now == (row, place):
                fb.fill_rect(pitch * place, top + tall - 2, pitch - 1, 1, 1)
            else:
                _tongue(fb, pitch * place, top, pitch - 1, tall - 2, mark)


def _tongue(fb, x, y, wide, tall, mark):
    if mark == 1:
        fb.fill_rect(x, y, wide, tall, 1)
    elif mark == 2:
        for row in range(tall):
            for column in range(row & 1, wide, 2):
                fb.pixel(x + column, y + row, 1)
    elif wide > 2:
        fb.rect(x, y, wide, tall, 1)
    else:
        fb.hline(x, y + tall - 1, wide, 1)


_PAGES = {"message": _message, "ask": _ask, "call": _call, "figure": _figure}
