"""An instrument's past, and one reed's, for a terminal and for other programs."""

import textwrap
from collections.abc import Iterator
from statistics import median
from typing import Any

from reedbench.course import PAST
from reedbench.evidence import MOVED
from reedbench.hand.pace import Pace, Span
from reedbench.hand.past import Chapter, Past, Stretch
from reedbench.hand.trends import Tiring, repeats_cents, settled_in, tiring
from reedbench.instrument import InstrumentReed
from reedbench.output import columns
from reedbench.plan_data import earlier_takes, settled_as_dict
from reedbench.settling import Settled
from reedbench.surveys import day
from reedbench.terminal import kind
from reedbench.words import rounded, signed

HEAD = ("survey", "date", "pass", "good", "off", "unsure", "look", "worst", "moved alike")


def past_lines(past: Past, pace: Pace, width: int) -> list[str]:
    """The past as lines of at most `width` characters, 60 at least."""
    width = max(width, 60)
    return [line for part in _parts(past, pace) for line in (part if isinstance(part, list) else _wrapped(part, width))]


def _wrapped(text: str, width: int) -> list[str]:
    return textwrap.wrap(text, width, subsequent_indent="  ") or [""]


def _parts(past: Past, pace: Pace) -> Iterator[str | list[str]]:
    """Tables as lists of lines, the rest as paragraphs to be wrapped."""
    yield f"{past.instrument.name}: {kind(past.instrument)}. Read {past.state}."
    yield ""
    common = {stretch.after.survey.number: signed(stretch.common_cents) for stretch in past.stretches}
    yield columns([HEAD, *(_row(one, common.get(one.survey.number, "-")) for one in past.chapters)])
    for place, stretch in enumerate(past.stretches):
        if stretch.worked or not place:
            yield ""
        yield between_words(stretch)
        yield from (f"  {words}" for action in MOVED if (words := pass_words(stretch, action)))
    if found := settled_in(past):
        yield ""
        yield "Settled without work:"
        yield from (f"  {settled_words(one)}" for one in found)
    if found_tiring := tiring(past):
        yield ""
        yield "Reeds that tire, beyond what the others did:"
        yield from (f"  {tiring_words(one)}" for one in found_tiring)
    yield ""
    repeats = repeats_cents(past.stretches)
    if repeats is not None:
        yield f"Reeds left alone read {repeats:.1f} cents apart from one survey to the next (RMS)."
    yield from pace_words(pace)
    if estimate := pace.estimate(past.chapters[-1].plan):
        yield f"The plan now: about {estimate.words} for the pass and the survey of its reeds after it."


def _row(chapter: Chapter, common: str) -> tuple[str, ...]:
    survey, worst = chapter.survey, chapter.worst
    counted = (str(chapter.verdicts(verdict)) for verdict in ("good", "off", "unsure", "look"))
    far = signed(worst.reading.cents) if worst and worst.reading.cents is not None else "-"
    return str(survey.number), day(survey), str(survey.pass_number), *counted, far, common


def between_words(stretch: Stretch) -> str:
    """Which surveys, how far apart, and whether a pass lies between, for people."""
    days = f", {days_words(stretch.days)}" if stretch.days is not None else ""
    numbers = f"Survey {stretch.before.survey.number} to {stretch.after.survey.number}{days}"
    if not stretch.worked:
        return f"{numbers}: no work."
    return f"{numbers}, pass {stretch.after.survey.pass_number}:"


def days_words(days: float) -> str:
    """A time between two surveys, for people: "40 minutes", "15 hours", "12 days", "2.1 years"."""
    if days < 2:
        return f"{days * 24:.0f} hours" if days * 24 >= 2 else f"{days * 1440:.0f} minutes"
    return f"{days:.0f} days" if days < 700 else f"{days / 365.25:.1f} years"


def pass_words(stretch: Stretch, action: str) -> str:
    """What a pass did to the reeds that it raised, or lowered; empty where it did to none."""
    did = pass_dict(stretch, action)
    if not did["reeds"]:
        return ""
    past = round(did["past_stop_cents"], 1)
    ended = f"ending {abs(past):.1f} {'higher' if past > 0 else 'lower'} than planned" if past else "ending as planned"
    return f"{did['reeds']} {PAST[action]} by {did['moved_cents']:.1f} cents, {ended}; {did['good']} of them good."


def common_words(stretch: Stretch) -> str:
    """What all reeds that were left alone moved, for people; empty where that is nothing, or they were too few."""
    common = signed(stretch.common_cents)
    return f"All that were left alone moved {common} cents." if float(f"{stretch.common_cents:.1f}") else ""


def settled_words(one: Settled) -> str:
    """What worked reeds did by themselves, for people."""
    reeds = f"{one.reeds} {PAST[one.action]} reed{'' if one.reeds == 1 else 's'}"
    return f"{reeds}, {one.when}: {signed(one.cents)} ± {one.u95_cents:.1f} cents."


def tiring_words(one: Tiring) -> str:
    """A reed that tires, for people."""
    over = f"{days_words(one.years * 365.25)} and " if one.years else ""
    raised = f"; raised in {one.raises} passes" if one.raises > 1 else ""
    return (
        f"{one.reed.label}: sank {one.lost_cents:.1f} ± {one.u95_cents:.1f} cents over "
        f"{over}{one.surveys} surveys{raised}."
    )


def pace_words(pace: Pace) -> list[str]:
    """What a reed takes, as far as the record tells."""
    found = []
    if pace.survey:
        found.append(f"Surveying a reed takes {pace.survey.words}, seen in {pace.survey.seen} surveys.")
    if pace.work:
        found.append(f"Working a reed in a pass takes {pace.work.words}, seen in {pace.work.seen} passes.")
    return found


def past_dict(past: Past, pace: Pace) -> dict[str, Any]:
    """The past for `--json`."""
    estimate = pace.estimate(past.chapters[-1].plan)
    return {
        "instrument": past.instrument.key_id,
        "name": past.instrument.name,
        "layout": past.instrument.layout.id,
        "state": past.state,
        "surveys": [_chapter_dict(one) for one in past.chapters],
        "stretches": [_stretch_dict(one) for one in past.stretches],
        "settled": [settled_as_dict(one) for one in settled_in(past)],
        "tiring": [_tiring_dict(one) for one in tiring(past)],
        "repeats_cents": rounded(repeats_cents(past.stretches)),
        **pace_dict(pace),
        "estimate": span_dict(estimate),
    }


def _chapter_dict(chapter: Chapter) -> dict[str, Any]:
    worst = chapter.worst
    return {
        "survey": chapter.survey.number,
        "unix_s": chapter.survey.unix_s,
        "pass": chapter.survey.pass_number,
        "reference_hz": chapter.survey.reference_hz,
        **{verdict: chapter.verdicts(verdict) for verdict in ("good", "off", "unsure", "look")},
        "worst_ordinal": worst.reed.ordinal if worst else None,
        "worst_cents": rounded(worst.reading.cents) if worst else None,
    }


def _stretch_dict(stretch: Stretch) -> dict[str, Any]:
    return {
        "from_survey": stretch.before.survey.number,
        "to_survey": stretch.after.survey.number,
        "days": rounded(stretch.days),
        "worked": stretch.worked,
        "common_cents": rounded(stretch.common_cents),
        "raised": pass_dict(stretch, "raise"),
        "lowered": pass_dict(stretch, "lower"),
    }


def pass_dict(stretch: Stretch, action: str) -> dict[str, Any]:
    """What a pass did to the reeds that it raised, or lowered: middles over them, None where there are none."""
    done = stretch.of(action)
    items = stretch.after.plan.by_ordinal()
    by_work = [one.by_work_cents for one in done if one.by_work_cents is not None]
    past = [one.past_stop_cents for one in done if one.past_stop_cents is not None]
    return {
        "reeds": len(done),
        "moved_cents": rounded(median(by_work)) if by_work else None,
        "past_stop_cents": rounded(median(past)) if past else None,
        "good": sum(items[one.reed.ordinal].verdict == "good" for one in done),
    }


def _tiring_dict(one: Tiring) -> dict[str, Any]:
    return {
        "ordinal": one.reed.ordinal,
        "lost_cents": rounded(one.lost_cents),
        "u95_cents": rounded(one.u95_cents),
        "surveys": one.surveys,
        "years": rounded(one.years),
        "raises": one.raises,
    }


def pace_dict(pace: Pace) -> dict[str, Any]:
    """What a reed takes, for `--json`."""
    return {"survey_per_reed": span_dict(pace.survey), "work_per_reed": span_dict(pace.work)}


def span_dict(span: Span | None) -> dict[str, Any] | None:
    """A span of time for `--json`."""
    if span is None:
        return None
    return {
        "seconds": rounded(span.seconds),
        "low_s": rounded(span.low_s),
        "high_s": rounded(span.high_s),
        "seen": span.seen,
    }


def reed_dict(past: Past, reed: InstrumentReed) -> dict[str, Any]:
    """A reed's past for `--json`."""
    return {
        "instrument": past.instrument.key_id,
        "name": past.instrument.name,
        "state": past.state,
        "ordinal": reed.ordinal,
        "reed": reed.label,
        "note": reed.note,
        "target_hz": rounded(reed.target_hz),
        "readings": reed_rows(past, reed),
    }


def reed_rows(past: Past, reed: InstrumentReed) -> list[dict[str, Any]]:
    """Every reading of a reed, the oldest first, for `--json`; `did` is what the pass after it had for the reed."""
    did = {
        stretch.before.survey.number: one.action
        for stretch in past.stretches
        for one in stretch.moved
        if one.reed.ordinal == reed.ordinal
    }
    return [
        {
            "survey": chapter.survey.number,
            "unix_s": chapter.survey.unix_s,
            "pass": chapter.survey.pass_number,
            "hz": rounded(item.hz),
            "reading_cents": rounded(item.reading.cents),
            "u95_cents": rounded(item.reading.u95_cents),
            "takes_used": list(item.reading.used),
            "earlier_takes_used": earlier_takes(item.reading),
            "verdict": item.verdict,
            "did": did.get(chapter.survey.number, ""),
        }
        for chapter, item in past.of_reed(reed.ordinal)
    ]


def reed_lines(past: Past, reed: InstrumentReed, width: int) -> list[str]:
    """Every reading of a reed as a table of at most `width` characters, 80 at least."""
    width = max(width, 80)
    rows = [("survey", "date", "pass", "Hz", "cents", "±cents", "verdict", "then")]
    stands_on = ["stands on"]
    for (chapter, item), row in zip(past.of_reed(reed.ordinal), reed_rows(past, reed), strict=True):
        read = f"{row['hz']:.3f}", signed(row["reading_cents"]), f"{row['u95_cents']:.1f}"
        then = PAST.get(row["did"], "")
        rows.append((str(row["survey"]), day(chapter.survey), str(row["pass"]), *read, row["verdict"], then))
        stands_on.append(item.reading.takes_words)
    cells = columns(rows)
    beside = max(map(len, cells)) + 2
    lines = []
    for cell, takes in zip(cells, stands_on, strict=True):
        lines += textwrap.wrap(f"{cell:<{beside}}{takes}", width, subsequent_indent=" " * beside)
    head = f"{past.instrument.name}, {reed.label}, {reed.note}: target {reed.target_hz:.3f} Hz. Read {past.state}."
    return [*_wrapped(head, width), "", *lines]
