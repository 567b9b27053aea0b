"""Surveys as tables in a terminal: all of them, and one take by take."""

import textwrap
from collections.abc import Iterator
from itertools import groupby
from typing import Any

from reedbench.ledger import ImportedReading, StoredSurvey, StoredTake
from reedbench.loudness import Slope
from reedbench.output import clean, clipped, columns
from reedbench.surveys import after_pass, day, imported_row, take_row
from reedbench.two import resolved_lines
from reedbench.words import signed

_TAKE_HEAD = ("reed", "take", "Hz", "±cents", "drift c/s", "dBFS", "")
_READING_HEAD = ("reed", "Hz", "±cents", "remark")
_SURVEY_HEAD = ("survey", "date", "pass", "instrument", "state", "takes")
_NAME_LEAST = 12  # characters of an instrument's name
_MOST_SLOPES = 8


def listed(surveys: list[StoredSurvey], width: int) -> list[str]:
    """A table of surveys, the names clipped to the terminal's width; below a survey what there is to remark."""
    cells = [(str(one.number), day(one), str(one.pass_number), one.name, one.state, str(one.takes)) for one in surveys]
    beside = max(map(len, columns([(*row[:3], *row[4:]) for row in (_SURVEY_HEAD, *cells)]))) + 2
    room = max(_NAME_LEAST, width - beside)
    rows = [(*row[:3], clipped(row[3], room), *row[4:]) for row in (_SURVEY_HEAD, *cells)]
    head, *lines = columns(rows)
    listed = [head]
    for one, line in zip(surveys, lines, strict=True):
        remarks = textwrap.wrap(clean("; ".join(_remarks(one))), max(width - 8, 40))
        listed += [line, *(f"        {remark}" for remark in remarks)]
    return listed


def _remarks(one: StoredSurvey) -> list[str]:
    others = [state for state in one.states if state != one.state]
    return [
        *(["not ended"] if not one.ended else []),
        *([f"{one.readings} readings imported from {one.file}"] if one.file is not None else []),
        *([f"also {', also '.join(others)}"] if others else []),
    ]


def shown(
    survey: StoredSurvey, takes: list[StoredTake], imported: list[ImportedReading], names: dict[int, str]
) -> Iterator[str]:
    """A survey take by take, or reading by reading. `names`: what the shop calls each reed, by ordinal."""
    yield f"Survey {survey.number}, {day(survey)}: {survey.name}, {after_pass(survey)}"
    yield f"A = {survey.reference_hz:g} Hz, within {survey.tolerance_cents:g} cents"
    if survey.file is not None:
        yield f"{survey.state}; imported from {survey.file}, the uncertainties as they were stated."
        yield from columns([_READING_HEAD, *(imported_row(one, names) for one in imported)])
        return
    for state, sounded in groupby(takes, key=lambda take: take.state):
        yield f"{state}:"
        yield from columns([_TAKE_HEAD, *(take_row(take, names) for take in sounded)])


def two_lines(takes: list[StoredTake], two: dict[int, dict[str, Any]], names: dict[int, str]) -> Iterator[str]:
    """What sounded together in the takes of which `two` tells, by sequence number (two.resolved_dict)."""
    for take in takes:
        if take.sequence in two:
            yield f"{names.get(take.ordinal, f'reed {take.ordinal}')}, take {take.number}:"
            yield from (f"  {line}" for line in resolved_lines(two[take.sequence]))


def slope_lines(by_state: dict[str, dict[int, Slope]], names: dict[int, str]) -> Iterator[str]:
    """Reeds whose pitch goes with their loudness, the most first, where that is sure."""
    for state, by_reed in by_state.items():
        sure = [(n, one) for n, one in by_reed.items() if abs(one.cents_per_db) > one.u95_cents_per_db]
        sure.sort(key=lambda pair: -abs(pair[1].cents_per_db))
        if sure:
            yield f"Cents a decibel louder inside takes, {state}; no reading allows for it:"
            yield from (
                f"{names.get(n, f'reed {n}')}: {signed(one.cents_per_db, 2)} ± {one.u95_cents_per_db:.2f}"
                for n, one in sure[:_MOST_SLOPES]
            )
        if more := len(sure[_MOST_SLOPES:]):
            yield f"and {more} more"
