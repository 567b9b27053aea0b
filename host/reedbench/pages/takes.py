"""The take view: how pitch and level went in every take of a survey, which count, what was discarded and why."""

from collections.abc import Mapping
from dataclasses import dataclass

from reedbench.firmware.wire.record import TRACE_POINTS
from reedbench.hand.past import Chapter
from reedbench.instrument import InstrumentReed
from reedbench.item import Item
from reedbench.ledger import ImportedReading, Ledger, StoredTake, Trace
from reedbench.pages.engine import render
from reedbench.pages.figures import Axis, line, scale_for
from reedbench.pages.links import Links
from reedbench.terminal import kind, ordered
from reedbench.tuning import cents_between
from reedbench.words import signed

STEP, HEIGHT = 3, 36  # from point to point of a trace
LEVEL_DB = 12.0  # either way, that the level's line reaches


@dataclass(frozen=True)
class Shown:
    """One take: the paths of pitch and level, its figures in words, and why it does not count; "" where it does."""

    take: StoredTake
    pitch: str
    level: str
    words: str
    why: str


@dataclass(frozen=True)
class ReedTakes:
    """One reed of a survey with all its takes; `imported`: its reading where it came from a file."""

    reed: InstrumentReed
    item: Item
    reads: str
    takes: tuple[Shown, ...]
    imported: ImportedReading | None


def takes(ledger: Ledger, chapter: Chapter, links: Links | None = None) -> str:
    """The page about all takes of a survey, reed by reed in the order in which they are sounded."""
    survey, plan = chapter.survey, chapter.plan
    by_reed: dict[int, list[StoredTake]] = {}
    for take in ledger.takes(survey.number):
        by_reed.setdefault(take.ordinal, []).append(take)
    traces = ledger.traces(survey.number)
    axis = Axis(scale_for(one for trace in traces.values() for one in trace.cents), HEIGHT)
    imported = {one.ordinal: one for one in ledger.imported(survey.number)}
    items = plan.by_ordinal()
    found = [
        _reed(items[ordinal], by_reed.get(ordinal, []), traces, axis, survey.state, imported.get(ordinal))
        for ordinal in plan.instrument.sounding_order()
    ]
    return render(
        "takes.html",
        links=links or Links(),
        instrument=plan.instrument,
        kind=kind(plan.instrument),
        ordered=ordered(plan.instrument),
        survey=survey,
        reeds=found,
        axis=axis,
        width=STEP * (TRACE_POINTS - 1),
        level_db=LEVEL_DB,
        discarded=sum(bool(one.why) for reed in found for one in reed.takes),
    )


def _reed(
    item: Item,
    sounded: list[StoredTake],
    traces: Mapping[int, Trace],
    axis: Axis,
    state: str,
    imported: ImportedReading | None,
) -> ReedTakes:
    left_out = {one.number: one.why for one in item.reading.left_out if one.survey is None}
    shown = tuple(_shown(take, item, left_out, traces.get(take.sequence), axis, state) for take in sounded)
    reading = item.reading
    reads = "no reading"
    if reading.cents is not None and reading.u95_cents is not None and (sounded or imported):
        reads = f"{signed(reading.cents)} ± {reading.u95_cents:.1f} cents"
    return ReedTakes(item.reed, item, reads, shown, imported)


def _shown(
    take: StoredTake, item: Item, left_out: Mapping[int, str], trace: Trace | None, axis: Axis, state: str
) -> Shown:
    why = left_out.get(take.number, "") if take.number not in item.reading.used else ""
    if take.withdrawn and not why:
        why = "withdrawn: the reed was sounded afresh"
    if take.state != state:
        why = f"sounded {take.state}: says nothing of {state}"
    pitch = line(axis, STEP, trace.cents) if trace else ""
    level = line(Axis(LEVEL_DB, axis.height), STEP, trace.decibels) if trace else ""
    return Shown(take, pitch, level, _words(take, item.reed), why)


def _words(take: StoredTake, reed: InstrumentReed) -> str:
    level = f"{signed(take.level_dbfs, 0)} dBFS, {take.span_s:.2f} s"
    if not take.hz:
        return f"no figure, {level}"
    cents = signed(cents_between(take.hz, reed.target_hz), 2)
    return (
        f"{take.hz:.3f} Hz, {cents} ± {take.se_cents:.2f}, {level}, drift {signed(take.drift_cents_per_s, 2)} cents/s"
    )
