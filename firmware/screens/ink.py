"""Sets text straight into the bytes of a frame buffer, without one of its own per character.

Nothing is allocated and little time is taken: text is set while the microphone runs.
"""

from .typeface import glyph

WIDE = 128  # pixels of a row, bytes of a page


def put(face, bits, x, y, text):
    """Sets `text` with its top left corner at x, y by inverting pixels, so that it shows on a filled bar too.

    `bits`: the bytes of a 128 x 64 MONO_VLSB frame buffer; what lies outside is cut off. Returns x behind it.
    """
    deep, gap, signs, widths, starts, columns = face
    for sign in text:
        if x >= WIDE:
            break
        place = glyph(signs, sign)
        start = (starts[2 * place] | starts[2 * place + 1] << 8) * deep
        _ink(bits, columns, start << 8 | widths[place] << 3 | deep, y << 8 | x)
        x += widths[place] + gap
    return x


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
