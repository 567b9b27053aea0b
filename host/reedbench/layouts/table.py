"""A layout as people read it: its table of notes, and where its reeds sit."""

from collections.abc import Iterator

from reedbench.layouts.layout import FACES, Layout, Reed
from reedbench.tuning import note_name

FROM_MEMORY = "from memory: check it on the instrument"


def about(layout: Layout) -> Iterator[str]:
    """What it is, how large, and where it comes from; a line each."""
    notes = sorted(reed.midi for reed in layout.reeds)
    yield f"{layout.id}: {layout.title}"
    yield (
        f"{layout.holes} places, {len(layout.reeds)} reeds, {note_name(notes[0])} to {note_name(notes[-1])}"
        + (" on an instrument in C" if layout.transposing else "")
    )
    yield f"Source: {layout.source}"
    if layout.unconfirmed:
        yield FROM_MEMORY.capitalize()


def notes(layout: Layout) -> list[list[str]]:
    """Heads, then a row for each place: the note of each reed there, "-" where there is none. Middle C is C4."""
    voices = list(dict.fromkeys(_voice(reed) for reed in layout.reeds))
    places: dict[str, dict[str, str]] = {}
    for reed in layout.reeds:
        places.setdefault(reed.place, {})[_voice(reed)] = note_name(reed.midi)
    heads = ["place", *(voice or "note" for voice in voices)]
    return [heads, *([place, *(there.get(voice, "-") for voice in voices)] for place, there in places.items())]


def seats(layout: Layout) -> Iterator[str]:
    """Where the reeds sit, a line for each plate in the order of a survey, and what else there is to know."""
    if layout.has_slide:
        yield f"upper and lower plate: {_breaths(layout.reeds)}"
        yield "which of the two a hole sounds, the instrument's slide and first plate say"
    else:
        for plate in layout.plates:
            reeds = tuple(reed for reed in layout.reeds if reed.plate == plate)
            first, last = reeds[0].place, reeds[-1].place
            yield f"{layout.plate_name(plate)}, {first} to {last}: {_breaths(reeds) or f'{len(reeds)} reeds'}"
    if layout.last_hole:
        yield f"last hole: {' or '.join(note for note, _ in layout.last_hole)}, as the instrument says"
    if layout.pairs:
        yield f"{layout.pairs.words}, unless an instrument's order says otherwise"


def _voice(reed: Reed) -> str:
    return " ".join(filter(None, (reed.breath, reed.slide, reed.member)))


def _breaths(reeds: tuple[Reed, ...]) -> str:
    """Breaths and the faces on which their reeds lie: "blow on the inner face, draw on the outer face"."""
    breaths = dict.fromkeys(reed.breath for reed in reeds if reed.breath)
    return ", ".join(f"{breath} on the {FACES[breath]} face" for breath in breaths)
