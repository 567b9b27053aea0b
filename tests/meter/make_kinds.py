"""Makes firmware/meter/kinds.py, the kinds of instrument that need no host, from the layouts' own data.

    python tests/meter/make_kinds.py

They are those blown by mouth in any key, with the same reeds at every place. A test checks that it is what this makes.
"""

from pathlib import Path
from textwrap import wrap

from reedbench import layouts
from reedbench.instrument import KEYS

KINDS = Path(__file__).resolve().parents[2] / "firmware" / "meter" / "kinds.py"
HEAD = '''"""Kinds of instrument that need no host. Made by tests/meter/make_kinds.py from the layouts' data.

A kind: identity, title, then a line of voices and one for each place, with a MIDI number in C for each of them.
"""
'''
NAMED = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def described(layout):
    """The reeds of `layout` as text, in the order of their ordinals; "" where not every place has the same voices."""
    places = {}
    for reed in layout.reeds:
        places.setdefault(reed.place, []).append(reed)
    voices = [(reed.breath, reed.slide, reed.member) for reed in max(places.values(), key=len)]
    rows = [",".join("/".join(voice) for voice in voices)]
    for place, reeds in places.items():
        if [(reed.breath, reed.slide, reed.member) for reed in reeds] != voices:
            return ""
        rows.append(",".join([place, *(str(reed.midi) for reed in reeds)]))
    in_order = [reed.ordinal for reeds in places.values() for reed in reeds]
    assert in_order == list(range(len(layout.reeds))), layout.id
    return " ".join(rows)


def source():
    """The text of kinds.py."""
    text = HEAD + "\nKEYS = (\n"
    text += "".join(f'    ("{key}", {KEYS[key]}),\n' for octave in ("", "low ") for key in (octave + n for n in NAMED))
    text += ")\n\nKINDS = (\n"
    for name in layouts.names():
        layout = layouts.load(name)
        lines = wrap(described(layout), 104)
        if layout.wind == "mouth" and layout.transposing and lines:
            body = "".join(f'        "{line} "\n' for line in lines[:-1]) + f'        "{lines[-1]}",\n'
            text += f'    (\n        "{layout.id}",\n        "{layout.title}",\n{body}    ),\n'
    return text + ")\n"


if __name__ == "__main__":
    KINDS.write_text(source(), encoding="utf-8")
