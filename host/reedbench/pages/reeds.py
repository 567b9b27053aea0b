"""The history of each reed: every reading with its uncertainty over the surveys, and when it was worked."""

from dataclasses import dataclass

from reedbench.course import PAST
from reedbench.hand.past import Chapter, Past
from reedbench.hand.told import tiring_words
from reedbench.hand.trends import tiring
from reedbench.instrument import InstrumentReed
from reedbench.pages.engine import render
from reedbench.pages.figures import Axis, mark, scale_for
from reedbench.pages.links import Links
from reedbench.surveys import day
from reedbench.terminal import kind, ordered
from reedbench.words import signed

SURVEYS = 20  # the last ones, that are drawn
STEP, HEIGHT = 22, 80


@dataclass(frozen=True)
class Point:
    """A reading: SVG path, what it says, and the survey whose takes it stands on."""

    path: str
    words: str
    survey: int


@dataclass(frozen=True)
class ReedHistory:
    """One reed: its readings, and (x, "raised" or "lowered") of the passes that worked it."""

    reed: InstrumentReed
    points: tuple[Point, ...]
    works: tuple[tuple[int, str], ...]
    last: str


def reeds(past: Past, links: Links | None = None) -> str:
    """The page about every reed of the instrument, in the order in which they are sounded."""
    chapters = past.chapters[-SURVEYS:]
    axis = Axis(_scale(past, chapters), HEIGHT)
    places = {chapter.survey.number: STEP // 2 + STEP * place for place, chapter in enumerate(chapters)}
    return render(
        "reeds.html",
        links=links or Links(),
        instrument=past.instrument,
        kind=kind(past.instrument),
        ordered=ordered(past.instrument),
        past=past,
        chapters=[(chapter, places[chapter.survey.number]) for chapter in chapters],
        reeds=[
            _history(past, past.instrument.reeds[ordinal], axis, places) for ordinal in past.instrument.sounding_order()
        ],
        axis=axis,
        width=STEP * max(len(chapters), 6),
        band=axis.band(past.instrument.order.tolerance_cents),
        tiring={one.reed.ordinal: tiring_words(one) for one in tiring(past)},
    )


def _scale(past: Past, chapters: tuple[Chapter, ...]) -> float:
    read = [i.reading.cents for one in chapters for i in one.plan.items if i.reading.cents is not None]
    return scale_for(read, least=2 * past.instrument.order.tolerance_cents)


def _history(past: Past, reed: InstrumentReed, axis: Axis, places: dict[int, int]) -> ReedHistory:
    points = []
    last = "not read"
    for chapter, item in past.of_reed(reed.ordinal):
        number, reading = chapter.survey.number, item.reading
        if number not in places or reading.cents is None or reading.u95_cents is None:
            continue
        last = f"{signed(reading.cents)} ± {reading.u95_cents:.1f}"
        on = reading.takes_words if chapter.survey.file is None else "imported"
        words = f"Survey {number}, {day(chapter.survey)}: {last}, {on}"
        points.append(Point(mark(axis, places[number], reading.cents, reading.u95_cents), words, number))
    works = tuple(
        (places[stretch.after.survey.number] - STEP // 2, PAST[one.action])
        for stretch in past.stretches
        if stretch.after.survey.number in places
        for one in stretch.moved
        if one.action and one.reed.ordinal == reed.ordinal
    )
    return ReedHistory(reed, tuple(points), works, last)
