"""The take view: how pitch and level went in every take of a survey, which count, what was discarded and why."""

from collections.abc import Iterable, Mapping

import numpy as np
from markupsafe import Markup, escape

from reedbench.firmware.wire.record import TRACE_POINTS
from reedbench.hand.past import Chapter
from reedbench.heard import Heard
from reedbench.instrument import InstrumentReed
from reedbench.item import Item
from reedbench.ledger import ImportedReading, StoredSurvey, StoredTake, Trace
from reedbench.pages.engine import render
from reedbench.pages.figures import Axis, lines, scale_for
from reedbench.pages.links import Links, anchor
from reedbench.sheet.traced import linked, stands_on
from reedbench.terminal import kind, ordered
from reedbench.tuning import cents_between
from reedbench.words import signed

STEP, HEIGHT = 3, 36  # from point to point of a trace
WIDTH = STEP * (TRACE_POINTS - 1)
LEVEL_DB = 12.0  # either way, that the level's line reaches


def takes(heard: Heard, chapter: Chapter, links: Links | None = None) -> str:
    """The page about all takes of a survey, reed by reed in the order in which they are sounded."""
    survey, plan = chapter.survey, chapter.plan
    by_reed: dict[int, list[StoredTake]] = {}
    for take in heard.takes(survey.number):
        by_reed.setdefault(take.ordinal, []).append(take)
    axis, paths = _drawn(heard.ledger.traces(survey.number))
    imported = {one.ordinal: one for one in heard.ledger.imported(survey.number)}
    items = plan.by_ordinal()
    discarded = 0
    found = []
    for ordinal in plan.instrument.sounding_order():
        item, sounded = items[ordinal], by_reed.get(ordinal, [])
        whys = _whys(item, sounded, survey.state)
        discarded += sum(map(bool, whys))
        boxes = [_box(take, item, why, paths[take.sequence]) for take, why in zip(sounded, whys, strict=True)]
        head = _head(item, survey, bool(sounded) or ordinal in imported, links or Links())
        found.append(_article(ordinal, [*head, *(boxes or [_stated(imported.get(ordinal))])]))
    return render(
        "takes.html",
        links=links or Links(),
        instrument=plan.instrument,
        kind=kind(plan.instrument),
        ordered=ordered(plan.instrument),
        survey=survey,
        reeds=Markup("\n").join(found),
        axis=axis,
        level_db=LEVEL_DB,
        discarded=discarded,
    )


def _drawn(traces: Mapping[int, Trace]) -> tuple[Axis, dict[int, tuple[str, str]]]:
    """(the axis of the pitches, SVG paths of pitch and level by the number of the take's record)."""
    pitch = np.array([trace.ccent for trace in traces.values()]).reshape(-1, TRACE_POINTS) / 100
    level = np.array([trace.qdb for trace in traces.values()]).reshape(-1, TRACE_POINTS) / 4
    axis = Axis(scale_for(pitch.ravel()), HEIGHT)
    both = zip(lines(axis, STEP, pitch), lines(Axis(LEVEL_DB, HEIGHT), STEP, level), strict=True)
    return axis, dict(zip(traces, both, strict=True))


def _article(ordinal: int, lines: list[str]) -> Markup:
    return Markup("\n".join([f'<article id="{anchor(ordinal)}">', *lines, "</article>"]))


def _head(item: Item, survey: StoredSurvey, heard: bool, links: Links) -> tuple[str, str]:
    """Which reed it is, and what it reads."""
    reed, reading = item.reed, item.reading
    reads = "no reading"
    if reading.cents is not None and reading.u95_cents is not None and heard:
        reads = f"{signed(reading.cents)} ± {reading.u95_cents:.1f} cents"
    if reading.agreeing and survey.file is None:
        reads += f", from {stands_on(links, survey.number, reed, reading, named=False)}"
    return (
        f"<h2>{linked(links.reeds(reed.ordinal), reed.label)}, {escape(reed.note)}</h2>",
        f'<p class="small">target {reed.target_hz:.3f} Hz; {reads}; {item.verdict}</p>',
    )


def _stated(imported: ImportedReading | None) -> str:
    """What stands in place of takes: the reading of a file."""
    if imported is None:
        return '<p class="small">Not sounded.</p>'
    remark = f": <bdi>{escape(imported.remark)}</bdi>" if imported.remark else ""
    return f'<p class="small">{imported.hz:.3f} Hz ± {imported.u95_cents:.2f} cents as it was stated{remark}</p>'


def _whys(item: Item, sounded: Iterable[StoredTake], state: str) -> list[str]:
    """Why each take does not count; "" where it does."""
    used = item.reading.used
    left_out = {one.number: one.why for one in item.reading.left_out if one.survey is None and one.number not in used}
    return [
        f"sounded {take.state}: says nothing of {state}"
        if take.state != state
        else left_out.get(take.number) or ("withdrawn: the reed was sounded afresh" if take.withdrawn else "")
        for take in sounded
    ]


def _box(take: StoredTake, item: Item, why: str, paths: tuple[str, str]) -> str:
    """A take as the page has it: how pitch and level went, its figures, and why it does not count."""
    pitch, level = paths
    flags = f"; {escape(', '.join(take.flags))}" if take.flags else ""
    left_out = f". <b>Left out:</b> {escape(why)}" if why else ""
    return (
        f'<div class="take{" out" if why else ""}">\n'
        f'<svg viewBox="0 0 {WIDTH} {HEIGHT}" role="img" aria-label="Pitch and level of take {take.number}">'
        f'<path class="level" d="{level}"/><path class="trace" d="{pitch}"/></svg>\n'
        f"<p><b>{take.number}</b>: {_words(take, item.reed)}{flags}{left_out}</p>\n"
        "</div>"
    )


def _words(take: StoredTake, reed: InstrumentReed) -> str:
    level = f"{signed(take.level_dbfs, 0)} dBFS, {take.span_s:.2f} s"
    if not take.hz:
        return f"no figure, {level}"
    cents = signed(cents_between(take.hz, reed.target_hz), 2)
    return (
        f"{take.hz:.3f} Hz, {cents} ± {take.se_cents:.2f}, {level}, drift {signed(take.drift_cents_per_s, 2)} cents/s"
    )
