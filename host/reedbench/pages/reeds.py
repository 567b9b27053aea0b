"""The history of each reed: every reading with its uncertainty over the surveys, and when it was worked."""

from collections.abc import Iterator
from dataclasses import dataclass

from markupsafe import Markup, escape

from reedbench.course import PAST
from reedbench.hand.past import Chapter, Past
from reedbench.hand.told import tiring_words
from reedbench.hand.trends import tiring
from reedbench.instrument import InstrumentReed
from reedbench.pages.engine import render
from reedbench.pages.figures import Axis, mark, scale_for
from reedbench.pages.links import Links, anchor
from reedbench.surveys import day
from reedbench.terminal import kind, ordered
from reedbench.words import signed

SURVEYS = 20  # the last ones, that are drawn
STEP, HEIGHT = 22, 80


def reeds(past: Past, links: Links | None = None) -> str:
    """The page about every reed of the instrument, in the order in which they are sounded."""
    chapters = past.chapters[-SURVEYS:]
    axis = Axis(_scale(past, chapters), HEIGHT)
    drawing = _Drawing(past, chapters, axis, links or Links())
    return render(
        "reeds.html",
        links=links or Links(),
        instrument=past.instrument,
        kind=kind(past.instrument),
        ordered=ordered(past.instrument),
        past=past,
        chapters=chapters,
        reeds=Markup("\n").join(drawing.of(past.instrument.reeds[n]) for n in past.instrument.sounding_order()),
        axis=axis,
    )


def _scale(past: Past, chapters: tuple[Chapter, ...]) -> float:
    read = [i.reading.cents for one in chapters for i in one.plan.items if i.reading.cents is not None]
    return scale_for(read, least=2 * past.instrument.order.tolerance_cents)


@dataclass(frozen=True)
class _Place:
    """Where a survey is drawn, and its date for people."""

    x: int
    day: str


class _Drawing:
    """Draws one reed after the other. There are dozens, with dozens of readings each: hence no template."""

    def __init__(self, past: Past, chapters: tuple[Chapter, ...], axis: Axis, links: Links) -> None:
        self._past, self._axis, self._links = past, axis, links
        self._places = {
            one.survey.number: _Place(STEP // 2 + STEP * place, day(one.survey)) for place, one in enumerate(chapters)
        }
        self._tiring = {one.reed.ordinal: tiring_words(one) for one in tiring(past)}
        self._passes: dict[int, list[str]] = {}  # paths of those that worked a reed, by ordinal
        for stretch in past.stretches:
            if place := self._places.get(stretch.after.survey.number):
                for one in stretch.moved:
                    if one.action:
                        path = f'<path class="work" d="M{place.x - STEP // 2} 0v{HEIGHT}">'
                        line = f"{path}<title>{PAST[one.action]}</title></path>"
                        self._passes.setdefault(one.reed.ordinal, []).append(line)
        width = STEP * max(len(chapters), 6)
        top, height = axis.band(past.instrument.order.tolerance_cents)
        self._box = f"0 -4 {width} {HEIGHT + 8}"
        self._ground = (
            f'<rect class="tolerance" x="0" y="{top}" width="{width}" height="{height}"/>',
            f'<path class="zero" d="M0 {axis.y(0)}h{width}"/>',
        )

    def of(self, reed: InstrumentReed) -> Markup:
        """The figure of one reed: what it read last, every reading with a way to its takes, when it was worked."""
        readings = list(self._readings(reed))
        passes = self._passes.get(reed.ordinal, [])
        label, last = escape(reed.label), readings[-1][0] if readings else "not read"
        worked = f"; {len(passes)} time{'s' if len(passes) > 1 else ''} worked" if passes else ""
        tires = f"<br><b>Tires.</b> {escape(self._tiring[reed.ordinal])}" if reed.ordinal in self._tiring else ""
        lines = [
            f'<figure id="{anchor(reed.ordinal)}">',
            f"<figcaption><b>{label}</b>, {escape(reed.note)}: {last}{worked}{tires}</figcaption>",
            f'<svg class="plot" viewBox="{self._box}" role="group" aria-label="{label}: {len(readings)} readings">',
            *self._ground,
            *passes,
            *(drawn for _, drawn in readings),
            "</svg>",
            "</figure>",
        ]
        return Markup("\n".join(lines))

    def _readings(self, reed: InstrumentReed) -> Iterator[tuple[str, str]]:
        """(what it read, that as it is drawn), the oldest first; figures and words of our own, to be written as is."""
        for chapter, item in self._past.of_reed(reed.ordinal):
            number, reading = chapter.survey.number, item.reading
            place = self._places.get(number)
            if place is None or reading.cents is None or reading.u95_cents is None:
                continue
            read = f"{signed(reading.cents)} ± {reading.u95_cents:.1f}"
            on = reading.takes_words if chapter.survey.file is None else "imported"
            words = f"Survey {number}, {place.day}: {read}, {on}"
            path = mark(self._axis, place.x, reading.cents, reading.u95_cents)
            drawn = f'<path class="mark" d="{path}"><title>{words}</title></path>'
            address = self._links.takes(number, reed.ordinal)
            yield read, f'<a href="{address}" aria-label="{words}">{drawn}</a>' if address else drawn
