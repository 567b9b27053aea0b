"""Makes firmware/meter/kinds.py, the kinds of instrument that need no host, from the layouts' own data.

    python tests/meter/make_kinds.py

They are those blown by mouth in any key. A test checks that it is what this makes.
"""

from pathlib import Path
from textwrap import wrap

from reedbench import layouts
from reedbench.instrument import KEYS

KINDS = Path(__file__).resolve().parents[2] / "firmware" / "meter" / "kinds.py"
HEAD = '''"""Kinds of instrument that need no host. Made by tests/meter/make_kinds.py from the layouts' data.

A kind: identity, title, then a line of voices and one for each place, with a MIDI number in C for each of them that it
has. A voice: breath/slide/member, and for one that is tuned above the voice before it /beats at A4/rise (builtin.py).
"""
'''
NAMED = ("C", "Db", "D", "Eb", "E", "F", "F#", "G", "Ab", "A", "Bb", "B")


def described(layout):
    """The reeds of `layout` as text, in the order of their ordinals."""
    law = layout.pairs
    assert law is None or law.law == "between", layout.id
    places, voices = {}, []
    for reed in layout.reeds:
        voice = (reed.breath, reed.slide, reed.member)
        if reed.base is not None:
            assert law and reed.side == 1 and reed.base == reed.ordinal - 1, layout.id
            voice += (f"{law.value:g}", f"{law.rise:g}")
        if voice not in voices:
            voices.append(voice)
        places.setdefault(reed.place, {})[voice] = reed
    in_order = [reeds[voice].ordinal for reeds in places.values() for voice in voices if voice in reeds]
    assert in_order == list(range(len(layout.reeds))), layout.id
    rows = [",".join("/".join(voice) for voice in voices)]
    for place, reeds in places.items():
        rows.append(",".join([place, *(str(reeds[voice].midi) if voice in reeds else "" for voice in voices)]))
    return " ".join(rows)


def source():
    """The text of kinds.py."""
    text = HEAD + "\nKEYS = (\n"
    text += "".join(f'    ("{key}", {KEYS[key]}),\n' for octave in ("", "low ") for key in (octave + n for n in NAMED))
    text += ")\n\nKINDS = (\n"
    for name in layouts.names():
        layout = layouts.load(name)
        if layout.wind == "mouth" and layout.transposing:
            lines = wrap(described(layout), 104)
            body = "".join(f'        "{line} "\n' for line in lines[:-1]) + f'        "{lines[-1]}",\n'
            text += f'    (\n        "{layout.id}",\n        "{layout.title}",\n{body}    ),\n'
    return text + ")\n"


if __name__ == "__main__":
    KINDS.write_text(source(), encoding="utf-8")
