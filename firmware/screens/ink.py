"""Sets text straight into the bytes of a frame buffer, without one of its own per character.

Nothing is allocated and little time is taken: text is set while the microphone runs.
"""

from .glyphs import DOUBLED
from .typeface import glyph

WIDE = 128  # pixels of a row, bytes of a page
_twice = bytearray(3 * 2 * 16)  # one glyph of it


def put(face, bits, x, y, text):
    """Sets `text` with its top left corner at x, y by inverting pixels, so that it shows on a filled bar too.

    `bits`: the bytes of a 128 x 64 MONO_VLSB frame buffer; what lies outside is cut off. Returns x behind it.
    """
    deep, gap, signs, widths, columns = face
    for sign in text:
        if x >= WIDE:
            break
        place = glyph(signs, sign)
        wide = widths[place]
        start = sum(widths[:place])
        if deep == DOUBLED:
            _double(columns, 2 * start, wide, _twice)
            wide *= 2
            _ink(bits, _twice, wide << 3 | deep, y << 8 | x)
        else:
            _ink(bits, columns, start * deep << 8 | wide << 3 | deep, y << 8 | x)
        x += wide + gap
    return x


def _double(columns, start, wide, out):
    """A glyph of two bytes a column at twice the size, three bytes a column. Seldom needed, so in few bytes of code.

    A pixel becomes four; each takes the colour of its neighbours at the side and above or below where both agree, and
    those opposite do not: so corners are filled or cut.
    """
    before = at = 0
    for c in range(wide):
        here = columns[start] | columns[start + 1] << 8
        start += 2
        after = columns[start] | columns[start + 1] << 8 if c + 1 < wide else 0
        up, down = here << 1, here >> 1
        corner = (before ^ after) & (up ^ down)
        for side in (before, after):
            rows = 0
            for half, over in ((0, up), (1, down)):
                turned = corner & ~(side ^ over)
                row = (side & turned) | (here & ~turned)
                for y in range(12):
                    rows |= (row >> y & 1) << (2 * y + half)
            out[at] = rows & 255
            out[at + 1] = rows >> 8 & 255
            out[at + 2] = rows >> 16
            at += 3
        before = here


@micropython.viper
def _ink(bits: ptr8, columns: ptr8, source: int, target: int):
    """One glyph. Viper takes four arguments: source is start, width (5 bits), depth (3); target y, x (8)."""
    at = source >> 8
    wide = (source >> 3) & 31
    deep = source & 7
    x = target & 255
    shift = (target >> 8) & 7
    page = ((target >> 11) << 7) & 0x3FF
    while wide > 0 and x < 128:
        into = page + x
        k = 0
        while k < deep and into < 1024:
            pattern = columns[at + k] << shift
            bits[into] = bits[into] ^ (pattern & 255)
            into += 128
            if into < 1024:
                bits[into] = bits[into] ^ (pattern >> 8)
            k += 1
        at += deep
        x += 1
        wide -= 1
