"""Which glyphs a face of glyphs.py has, and how much room they take."""

from .glyphs import DOUBLED

UNKNOWN = "↯"  # the glyph, an empty box, for characters that the typeface lacks


def has(face, text):
    """Whether the face can set all of `text`."""
    return all(face[2].find(sign) >= 0 for sign in text)


def width(face, text):
    """Pixels from the left edge of the first to the right edge of the last character."""
    gap, signs, widths = face[1], face[2], face[3]
    times = 2 if face[0] == DOUBLED else 1
    total = -gap if text else 0
    for sign in text:
        total += times * widths[glyph(signs, sign)] + gap
    return total


def fitted(face, text, room):
    """`text`, or as much of it as fits in `room` pixels with two dots behind."""
    if width(face, text) <= room:
        return text
    while text and width(face, text + "..") > room:
        text = text[:-1]
    return text + ".."


def glyph(signs, sign):
    """Place of a character in a face, or of the empty box."""
    place = signs.find(sign)
    return place if place >= 0 else max(signs.find(UNKNOWN), 0)
