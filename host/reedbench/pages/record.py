"""The record for the owner: before and after, reference, temperature, what was done, what to expect."""

from dataclasses import dataclass
from itertools import groupby

from markupsafe import Markup

from reedbench.course import PAST
from reedbench.hand.past import Chapter, Past, Stretch
from reedbench.hand.shop import Shop
from reedbench.hand.told import pass_dict, settled_words, tiring_words
from reedbench.hand.trends import settled_in, tiring
from reedbench.instrument import InstrumentReed
from reedbench.item import Item
from reedbench.pages.engine import render
from reedbench.pages.figures import Axis, mark, scale_for
from reedbench.pages.links import Links
from reedbench.sheet.traced import linked, stands_on
from reedbench.surveys import day
from reedbench.terminal import kind, ordered
from reedbench.words import signed

HEIGHT = 110  # of the drawing of a few reeds
COLUMN = 48
GROUP = 6  # reeds that are readable side by side on a narrow screen


@dataclass(frozen=True)
class ReedRecord:
    """One reed before and after; marks are SVG paths, "" where it was not read."""

    reed: InstrumentReed
    x: int
    was: str
    now: str
    reads: str  # what it reads now
    words: str  # the same with what it read before
    sources: Markup  # both, and the takes that they stand on


@dataclass(frozen=True)
class Group:
    """Reeds that are drawn side by side, of one plate."""

    plate: str
    reeds: tuple[ReedRecord, ...]
    width: int


def record(past: Past, job: list[Chapter], shop: Shop, links: Links | None = None) -> str:
    """The page about one time that the instrument was in the shop: one of `past.jobs`."""
    first, last = job[0], job[-1]
    axis = Axis(_scale(past, first, last), HEIGHT)
    return render(
        "record.html",
        links=links or Links(),
        instrument=past.instrument,
        kind=kind(past.instrument),
        ordered=ordered(past.instrument),
        first=first,
        last=last,
        two=first is not last,
        state=past.state,
        celsius={one.survey.number: _celsius(one) for one in job},
        done=[_done(one) for one in _within(past, job) if one.worked],
        looked=_looked_at(job),
        groups=_groups(past, first, last, axis, links or Links()),
        axis=axis,
        band=axis.band(past.instrument.order.tolerance_cents),
        expect=_expect(past, shop, last),
    )


def _within(past: Past, job: list[Chapter]) -> list[Stretch]:
    """What lies between the surveys of one time in the shop."""
    numbers = {chapter.survey.number for chapter in job}
    return [one for one in past.stretches if {one.before.survey.number, one.after.survey.number} <= numbers]


def _scale(past: Past, first: Chapter, last: Chapter) -> float:
    tolerance = past.instrument.order.tolerance_cents
    read = [item.reading.cents for one in (first, last) for item in one.plan.items if item.reading.cents is not None]
    return scale_for(read, least=2 * tolerance)


def _celsius(chapter: Chapter) -> str:
    """Temperature of the meter's board over a survey, in words; empty where it is unknown."""
    read = [take.board_celsius for take in chapter.read.takes if take.board_celsius is not None]
    if not read:
        return ""
    low, high = min(read), max(read)
    return f"{low:.1f} °C" if high - low < 0.5 else f"{low:.1f} to {high:.1f} °C"


def _done(stretch: Stretch) -> str:
    """What a pass did, in a sentence."""
    parts = []
    for action, word in PAST.items():
        did = pass_dict(stretch, action)
        if did["reeds"]:
            reeds = f"{did['reeds']} reed{'' if did['reeds'] == 1 else 's'}"
            parts.append(f"{word} {reeds} by about {did['moved_cents']:.1f} cents")
    number = stretch.after.survey.pass_number
    return f"Pass {number}, until {day(stretch.after.survey)}: {'; '.join(parts) or 'no reed was moved'}."


def _looked_at(job: list[Chapter]) -> list[tuple[str, str]]:
    """(reed, why) of those that were to be looked at before any of the later surveys."""
    found = {}
    for chapter in job[:-1]:
        for item in chapter.plan.items:
            if item.action == "inspect":
                found[item.reed.label] = item.why
    return list(found.items())


def _groups(past: Past, first: Chapter, last: Chapter, axis: Axis, links: Links) -> list[Group]:
    chapters = [first, last] if first is not last else [last]
    reeds = [past.instrument.reeds[ordinal] for ordinal in past.instrument.sounding_order()]
    found = []
    for plate, of_plate in groupby(reeds, key=lambda reed: reed.plate):
        row = list(of_plate)
        for start in range(0, len(row), GROUP):
            here = row[start : start + GROUP]
            drawn = tuple(
                _reed(reed, COLUMN // 2 + place * COLUMN, chapters, axis, links) for place, reed in enumerate(here)
            )
            found.append(Group(past.instrument.layout.plate_name(plate), drawn, COLUMN * GROUP))
    return found


def _reed(reed: InstrumentReed, x: int, chapters: list[Chapter], axis: Axis, links: Links) -> ReedRecord:
    items = [chapter.plan.by_ordinal().get(reed.ordinal) for chapter in chapters]
    places = (x - 8, x + 5) if len(items) > 1 else (x,)
    *was, now = (_drawn(item, axis, place) for item, place in zip(items, places, strict=True))
    said = [_reads(item) for item in items if item]
    words = f"{reed.label}, {reed.note}: {' before, '.join(said)}{' after' if len(said) > 1 else ''}"
    sources = (_source(item, chapter, links) for item, chapter in zip(items, chapters, strict=True) if item)
    return ReedRecord(reed, x, "".join(was), now, said[-1] if said else "not read", words, Markup("").join(sources))


def _source(item: Item, chapter: Chapter, links: Links) -> Markup:
    """What a reed read in a survey, and where that comes from."""
    number = chapter.survey.number
    if chapter.survey.file is None:
        on = stands_on(links, number, item.reed, item.reading)
    else:
        on = linked(links.takes(number, item.reed.ordinal), f"imported as survey {number}")
    return Markup(f"; {_reads(item)}: {on}")


def _drawn(item: Item | None, axis: Axis, x: int) -> str:
    if item is None or item.reading.cents is None or item.reading.u95_cents is None:
        return ""
    return mark(axis, x, item.reading.cents, item.reading.u95_cents)


def _reads(item: Item) -> str:
    if item.reading.cents is None or item.reading.u95_cents is None:
        return "not read"
    return f"{signed(item.reading.cents)} ± {item.reading.u95_cents:.1f}"


def _expect(past: Past, shop: Shop, last: Chapter) -> list[str]:
    """What the owner may expect, in sentences: what is measured here, and what is common practice."""
    order = past.instrument.order
    totals = last.plan.totals()
    left = totals["reeds"] - totals["leave"]
    found = [
        f"{totals['leave']} of {totals['reeds']} reeds lie within {order.tolerance_cents:g} cents of their targets, "
        "with all of their uncertainty." + (f" {left} do not, or it is not decided." if left else "")
    ]
    found += [f"By itself, as seen here: {settled_words(one)}" for one in settled_in(past)]
    if not settled_in(past):
        found += [f"By itself, as seen in this shop: {settled_words(one)}" for one in shop.settled]
    found += [f"Tiring: {tiring_words(one)} It may have to be replaced." for one in tiring(past)]
    found += [
        "Brass reeds fall about 0.3 cents with every degree of warmth: played warm, all sound a little lower.",
        "How hard an instrument is played moves every reed by cents; the readings are of an even, moderate tone.",
    ]
    return found
