"""Surveys and takes of the ledger, as commands show them and as the planner reads them."""

import time
from collections.abc import Iterable
from contextlib import suppress
from dataclasses import asdict, replace
from typing import Any

from reedbench.control import Control
from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.firmware.wire import agree, record
from reedbench.firmware.wire.errors import WireError
from reedbench.instrument import Instrument
from reedbench.ledger import ImportedReading, Ledger, StoredSurvey, StoredTake
from reedbench.reading import Take

_YEAR_S = 366 * 86400


def survey_dict(survey: StoredSurvey) -> dict[str, Any]:
    """A survey for `--json`."""
    return {
        "survey": survey.number,
        "meter": survey.meter,
        "epoch": survey.epoch,
        "sequence": survey.sequence,
        "instrument": survey.instrument,
        "name": survey.name,
        "layout": survey.layout,
        "state": survey.state,
        "states": list(survey.states),
        "pass": survey.pass_number,
        "reference_hz": survey.reference_hz,
        "tolerance_cents": survey.tolerance_cents,
        "unix_s": survey.unix_s,
        "unix_within_s": survey.unix_within_s,
        "reeds": survey.reeds,
        "takes": survey.takes,
        "ended": survey.ended,
        "file": survey.file,
        "readings": survey.readings,
    }


def take_dict(take: StoredTake, two: dict[str, Any] | None = None) -> dict[str, Any]:
    """A take for `--json`, with what sounded in it where the meter kept that."""
    return {
        "sequence": take.sequence,
        "ordinal": take.ordinal,
        "take": take.number,
        "control": take.role,
        "state": take.state,
        "unix_s": take.unix_s,
        "unix_within_s": take.unix_within_s,
        "up_s": take.up_s,
        "span_s": take.span_s,
        "hz": take.hz,
        "se_cents": take.se_cents,
        "clock_u_cents": take.clock_u_cents,
        "check_cents": take.check_cents,
        "drift_cents_per_s": take.drift_cents_per_s,
        "level_dbfs": take.level_dbfs,
        "board_celsius": take.board_celsius,
        "flags": list(take.flags),
        "withdrawn": take.withdrawn,
        "two": two,
    }


def control_dict(found: Control) -> dict[str, Any]:
    """What the control reed said, for `--json`."""
    return {
        "ordinal": found.ordinal,
        "moved_cents": found.cents,
        "u95_cents": found.u95_cents,
        "minutes": found.minutes,
        "sounded": [asdict(one) for one in found.sounded],
    }


def control_line(found: Control, label: str) -> str:
    """The same in a sentence."""
    way = "rose" if found.cents >= 0 else "fell"
    return (
        f"Control reed {label}: it {way} by {abs(found.cents):.1f} cents, give or take {found.u95_cents:.1f}, in "
        f"{found.minutes:.0f} minutes. That is not taken off; the readings' uncertainty counts it."
    )


def imported_dict(reading: ImportedReading) -> dict[str, Any]:
    """An imported reading for `--json`."""
    return {
        "ordinal": reading.ordinal,
        "hz": reading.hz,
        "u95_cents": reading.u95_cents,
        "remark": reading.remark,
    }


def imported_row(reading: ImportedReading, names: dict[int, str]) -> tuple[str, ...]:
    """An imported reading as cells of a table."""
    return (
        names.get(reading.ordinal, f"reed {reading.ordinal}"),
        f"{reading.hz:.3f}",
        f"{reading.u95_cents:.2f}",
        reading.remark,
    )


def take_row(take: StoredTake, names: dict[int, str]) -> tuple[str, ...]:
    """A take as cells of a table; `names` says what the shop calls the reed of an ordinal."""
    remarks = [*take.flags, *(("withdrawn",) if take.withdrawn else ()), *(("control",) if take.role else ())]
    return (
        names.get(take.ordinal, f"reed {take.ordinal}"),
        str(take.number),
        f"{take.hz:.3f}" if take.hz else "-",
        f"{take.se_cents:.3f}" if take.hz else "-",
        f"{take.drift_cents_per_s:+.2f}",
        f"{take.level_dbfs:.1f}",
        ", ".join(remarks),
    )


def day(survey: StoredSurvey) -> str:
    """Local date of a survey, for people, or the dates between which it was made; "undated" where nobody knows."""
    if survey.unix_s is None:
        return "undated"
    first, last = date_bounds(survey.unix_s, survey.unix_within_s or 0.0)
    if first == last:
        return last
    return f"before {last}" if survey.unix_within_s and survey.unix_within_s > _YEAR_S else f"{first} to {last}"


def after_pass(survey: StoredSurvey) -> str:
    """Which work a survey follows, for people."""
    return f"after pass {survey.pass_number}" if survey.pass_number else "before any pass"


def date_bounds(unix_s: int, within_s: float) -> tuple[str, str]:
    """First and last local date that a time, give or take so many seconds, may fall on."""
    ends = (time.localtime(unix_s - within_s), time.localtime(unix_s + within_s))
    return time.strftime("%Y-%m-%d", ends[0]), time.strftime("%Y-%m-%d", ends[1])


def instrument_of(ledger: Ledger, survey: StoredSurvey) -> Instrument:
    """The instrument that was surveyed; BadInput where the ledger does not have its description."""
    return instrument_kept(ledger, survey.instrument)


def instrument_kept(ledger: Ledger, key: str) -> Instrument:
    """The instrument that the ledger has under that key; BadInput where it has none."""
    return Instrument.from_dict(ledger.instrument(key).document, f"instrument {key}")


def reed_names(ledger: Ledger, survey: StoredSurvey) -> dict[int, str]:
    """What the shop calls each reed, by ordinal; empty where the ledger does not have the instrument."""
    if survey.instrument not in (one.key for one in ledger.instruments()):
        return {}
    return {reed.ordinal: reed.label for reed in instrument_of(ledger, survey).reeds}


def state_known(text: str) -> str:
    """A state of sounding in words, "assembled" where nothing is said; BadInput for one that there is not."""
    try:
        return str(record.state_words(record.state_byte(text or record.STATES[0])))
    except WireError as error:
        raise BadInput(
            f"the state {shown(text)} is none of {', '.join(record.STATES)}, with or without a comma and one of "
            f"{', '.join(record.WINDS)}"
        ) from error


def in_state(survey: StoredSurvey, state: str | None) -> StoredSurvey:
    """The survey as it was sounded in `state`, or in the last one for None; BadInput where it was not."""
    if state is None:
        return survey
    with suppress(WireError):  # one of a newer version goes by its own words
        state = str(record.state_words(record.state_byte(state)))
    if state not in survey.states:
        raise BadInput(
            f"survey {survey.number} was not sounded in the state {shown(state)}: it has {'; '.join(survey.states)}"
        )
    return replace(survey, state=state)


def other_states(survey: StoredSurvey) -> str:
    """Says that takes of other states were left aside, and how to see them; empty where there are none."""
    others = [state for state in survey.states if state != survey.state]
    if not others:
        return ""
    return f"survey {survey.number} was also sounded in another state: choose with --state {shown(others[-1])}"


def takes_of(ledger: Ledger, survey: StoredSurvey) -> list[Take]:
    """The survey's takes in its `state`, as the planner reads them."""
    return takes_in(ledger.takes(survey.number), survey.state)


def takes_in(stored: Iterable[StoredTake], state: str) -> list[Take]:
    """Those of one state, as the planner reads them.

    A take with a flag that this version does not know is taken to have no figure: something spoke against it.
    """
    return [_take(one) for one in stored if one.state == state]


def _take(stored: StoredTake) -> Take:
    known = tuple(flag for flag in stored.flags if flag in record.FLAGS)
    return Take(
        ordinal=stored.ordinal,
        number=stored.number,
        sequence=stored.sequence,
        state=stored.state,
        hz=stored.hz if known == stored.flags else None,
        se_cents=stored.se_cents,
        flags=known,
        level_dbfs=stored.level_dbfs,
        drift_cents_per_s=stored.drift_cents_per_s,
        clock_u_cents=stored.clock_u_cents,
        withdrawn=stored.withdrawn,
        role=stored.role,
        unix_s=stored.unix_s,
        up_s=stored.up_s,
        scatter_cents=agree.USUAL_CENTS if stored.scatter_cents is None else stored.scatter_cents,
        board_celsius=stored.board_celsius,
    )
