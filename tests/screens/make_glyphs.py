"""Packs the typeface, drawn as text in typeface/, into firmware/screens/glyphs.py.

    python tests/screens/make_glyphs.py

A test checks that glyphs.py is what this makes. The face of words is the text face, which ink.py doubles in size.
"""

from pathlib import Path

HERE = Path(__file__).resolve().parent
GLYPHS = HERE.parents[1] / "firmware" / "screens" / "glyphs.py"
WORDS = """
# The text face at twice the size: ink.py draws it so.
DOUBLED = 3
WORDS = (DOUBLED, 2, BODY[2], BODY[3], BODY[4])
"""

HEAD = '''"""The typeface. Made by tests/screens/make_glyphs.py from the drawings in typeface/: do not edit.

A face is (bytes per column, gap after a character, characters, widths, columns). Gap and widths in pixels; a column
from top to bottom, lowest bit on top.
"""
'''


def read_face(path):
    """(height, {character: rows of "#" and "."}) of one drawing, which follows the line "height N".

    Every glyph gets as many rows as the face is high.
    """
    _, rest = path.read_text(encoding="utf-8").split("\nheight ")
    height, *lines = rest.splitlines()
    height, face, current = int(height), {}, []
    for line in lines:
        words = line.split()
        if line.startswith(" "):
            current.append(words[0])
        else:
            current = [""] * int(words[1]) + words[2:]
            face[" " if words[0] == "space" else words[0]] = current
    for character, rows in face.items():
        width = len(rows[-1])
        if len(rows) > height or any(len(row) not in (0, width) for row in rows):
            raise ValueError(f"{path.name}: glyph {character!r} is ragged or too tall")
        rows[:] = [row or "." * width for row in rows] + ["." * width] * (height - len(rows))
    return height, face


def pack(height, face):
    """A face as glyphs.py holds it."""
    deep = (height + 7) // 8
    widths, columns = bytearray(), bytearray()
    for rows in face.values():
        widths.append(len(rows[0]))
        for x in range(len(rows[0])):
            bits = sum(1 << y for y in range(height) if rows[y][x] == "#")
            columns += bits.to_bytes(deep, "little")
    return deep, "".join(face), bytes(widths), bytes(columns)


def literal(value):
    """`value` (characters or bytes) as lines of Python source."""
    if isinstance(value, str):
        return f'    "{value}",\n'
    if len(value) <= 24:
        return '    (b"' + "".join(f"\\x{byte:02x}" for byte in value) + '"),\n'
    pieces = (value[at : at + 24] for at in range(0, len(value), 24))
    lines = ('        b"' + "".join(f"\\x{byte:02x}" for byte in piece) + '"\n' for piece in pieces)
    return "    (\n" + "".join(lines) + "    ),\n"


def source():
    """The text of glyphs.py."""
    faces = {path.stem.upper(): read_face(path) for path in sorted((HERE / "typeface").glob("*.txt"))}
    text = HEAD
    for name, face in faces.items():
        deep, *parts = pack(*face)
        gap = 1 if deep < 3 else 2
        text += f"\n{name} = (\n    {deep},\n    {gap},\n" + "".join(map(literal, parts)) + ")\n"
    return text + WORDS


if __name__ == "__main__":
    GLYPHS.write_text(source(), encoding="utf-8")
