"""Reading a layout file: that it describes a layout, and which reeds that layout has. docs/layouts.md is about it.

A file is the table as it stands in print: one row per place (hole, column, button), one MIDI note number per voice,
null where a place has no such reed; or, for a keyboard, just its lowest and highest key. A voice is the breath and,
where there is a slide, its position: "draw in". Banks repeat all of it at intervals.
"""

import re
from typing import Any

from reedbench.documents import Fields, shown
from reedbench.errors import BadInput
from reedbench.firmware.wire.messages import REEDS_MAX
from reedbench.layouts.layout import COMB, Layout, Reed
from reedbench.layouts.parts import (
    BREATHS,
    Bank,
    Plate,
    Row,
    is_midi,
    read_banks,
    read_plates,
    read_rows,
    read_voices,
    read_word,
)
from reedbench.tuning import PairLaw

__all__ = ["BREATHS", "VERSION", "layout_from_dict"]

VERSION = 1
WINDS = ("mouth", "bellows")


def layout_from_dict(values: Any, where: str) -> Layout:
    """The layout described by `values`, a parsed layout file; BadInput, naming `where`, for anything else."""
    fields = Fields(values, where)
    fields.kind("layout", VERSION)
    layout_id = fields.take("id")
    if not isinstance(layout_id, str) or not re.fullmatch(r"[a-z0-9-]{1,32}", layout_id):
        fields.refuse("id", "a text of 1 to 32 small letters a to z, figures and hyphens")
    title = fields.text("title", 80)
    source = fields.text("source", 200)
    unconfirmed = fields.flag("unconfirmed")
    voices = read_voices(fields)
    banks = read_banks(fields)
    rows = read_rows(fields, len(voices))
    by_slide = voices[0][1] != ""
    if by_slide and fields.take("plates") is not None:
        fields.refuse("plates", "left out where there is a slide: the instrument says which plate it opens")
    plates = [] if by_slide else read_plates(fields, [place for place, _ in rows], banks)
    reeds = _reeds(rows, voices, banks, plates, where)
    for plate in plates:
        if all(reed.plate != plate.name for reed in reeds):
            raise BadInput(f"{where}: no reed sits on plate {shown(plate.name)}: those before it hold them all")
    layout = Layout(
        id=layout_id,
        title=title,
        source=source,
        unconfirmed=unconfirmed,
        holes=len(rows),
        reeds=reeds,
        last_hole=_last_hole(fields, reeds),
        plates=tuple(plate.name for plate in plates) or COMB,
        plate_word=read_word(fields, "plate_word", "plate"),
        wind=fields.choice("wind", WINDS, WINDS[voices[0][0] in ("push", "pull")]),
        transposing=fields.flag("transposing", True),
        per_row=fields.whole("per_row", 1, 24, default=12) if fields.take("keys") is None else 0,
        pairs=PairLaw.read(fields.inner("pairs")) if fields.take("pairs") is not None else None,
        document=values,
    )
    fields.done()
    if layout.has_pairs and layout.pairs is None:
        fields.refuse("pairs", "there where a bank is tuned above or below another: how far apart they are by usage")
    return layout


def _reeds(
    rows: list[Row], voices: list[tuple[str, str]], banks: list[Bank], plates: list[Plate], where: str
) -> tuple[Reed, ...]:
    """All reeds, numbered place by place, bank by bank, voice by voice."""
    places = [place for place, _ in rows]
    reeds: list[Reed] = []
    for hole, (place, notes) in enumerate(rows, start=1):
        here: dict[tuple[int, str, str], int] = {}  # base reeds of this place, by what their partners share with them
        for bank in banks:
            for (breath, slide), note in zip(voices, notes, strict=True):
                if note is None:
                    continue
                midi = note + bank.semitones
                if not is_midi(midi):
                    raise BadInput(
                        f"{where}: bank {bank.name} would sound MIDI note {midi} at {place}; 12 to 120 can be"
                    )
                plate = _plate(plates, breath, bank.name, place, places, where) if plates else ""
                base = here.get((midi, breath, slide)) if bank.side else None
                if not bank.side:
                    here.setdefault((midi, breath, slide), len(reeds))
                reeds.append(Reed(len(reeds), place, hole, breath, slide, midi, bank.name, base, bank.side, plate))
    if len(reeds) > REEDS_MAX:
        raise BadInput(
            f"{where}: {len(reeds)} reeds, but a meter takes {REEDS_MAX}: make two layouts of it, such as treble and "
            "bass, and survey it in parts"
        )
    return tuple(reeds)


def _plate(plates: list[Plate], breath: str, bank: str, place: str, places: list[str], where: str) -> str:
    """The first plate that holds the reed."""
    for plate in plates:
        if plate.holds(breath, bank, place, places):
            return plate.name
    called = " ".join(filter(None, (place, breath, bank)))
    raise BadInput(f"{where}: the reed {called} sits on none of the plates")


def _last_hole(fields: Fields, reeds: tuple[Reed, ...]) -> tuple[tuple[str, int], ...]:
    choices = fields.take("last_hole", {})
    allowed = "an object of note names and MIDI note numbers, the first of them the one in the table"
    if not isinstance(choices, dict) or not all(is_midi(midi) for midi in choices.values()):
        fields.refuse("last_hole", allowed)
    if choices and next(iter(choices.values())) != reeds[-1].midi:
        fields.refuse("last_hole", allowed)
    return tuple(choices.items())
