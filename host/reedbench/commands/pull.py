"""`reedbench pull`: bring the meter's takes into the ledger."""

from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any

import click

from reedbench.calibrating import glance
from reedbench.finding import the_meter
from reedbench.hand.benched import keep_benched
from reedbench.ledger import Ledger, StoredSitting, StoredSurvey
from reedbench.link import converse
from reedbench.options import json_option, ledger_option, port_option
from reedbench.output import progress, report
from reedbench.pull import Pulled, pull
from reedbench.surveys import survey_dict


@click.command("pull")
@port_option
@ledger_option
@json_option
def command(port: str | None, ledger_path: Path, as_json: bool) -> None:
    """Bring the meter's takes into the ledger.

    Only what is safe in the ledger is freed in the meter, and only by the ledger that pulled from it first. A
    pull that broke off goes on where it stopped.

    \b
    Example:
        reedbench pull
    """
    with Ledger.open(ledger_path, write=True) as ledger, converse(the_meter(port), ledger.identity) as meter:
        looked = glance(meter, ledger)
        waiting = meter.records_from(ledger.next_sequence(meter.serial, meter.epoch))
        with progress("pulling record", waiting) as step:
            pulled = pull(meter, ledger, step)
        surveys = [ledger.survey(number) for number in pulled.kept.surveys]
        sittings = [ledger.sitting(number) for number in pulled.kept.sittings]
        keep_benched(ledger, sittings)
        elsewhere = meter.home not in ("", ledger.identity)
    data = {
        "records": pulled.kept.records,
        "takes": pulled.kept.takes,
        "surveys": [survey_dict(survey) for survey in surveys],
        "sittings": [_sitting_dict(sitting) for sitting in sittings],
        "unread": pulled.kept.unread,
        "missing": pulled.missing,
        "freed": pulled.freed,
        "meter": meter.serial,
        "home": not elsewhere,
        "clock": looked.as_dict(),
    }
    lines = _lines(pulled, surveys, sittings, elsewhere)
    report(data, [*lines, *([looked.line()] if looked.told else [])], as_json)


def _lines(
    pulled: Pulled, surveys: list[StoredSurvey], sittings: list[StoredSitting], elsewhere: bool
) -> Iterator[str]:
    if not pulled.kept.records:
        yield "The ledger already has everything that is in the meter."
    else:
        yield f"{_count(pulled.kept.takes, 'take')} came into the ledger."
    for survey in surveys:
        yield f"Survey {survey.number}: {survey.name}, {_count(survey.takes, 'take')}."
    for sitting in sittings:
        yield f"{sitting.doing.capitalize()}: {sitting.name}, {_count(sitting.takes, 'take')}{_result(sitting)}."
    if pulled.kept.unread:
        yield f"{_count(pulled.kept.unread, 'record')} kept unread: a newer reedbench reads them."
    if pulled.missing:
        yield (
            f"{_count(pulled.missing, 'record')} not here: the meter freed them once another computer's ledger had "
            "them, or could not read them."
        )
    if elsewhere:
        yield "This meter's home is another ledger, perhaps another computer's: only a pull there frees its memory."


def _sitting_dict(sitting: StoredSitting) -> dict[str, Any]:
    values = asdict(sitting)
    return {"sitting": values.pop("number"), "pass": values.pop("pass_number"), **values}


def _result(sitting: StoredSitting) -> str:
    """What came of it beside its takes."""
    if sitting.heard is not None:
        return f"; {_count(sitting.heard, 'reed')} heard, {sitting.off} off, {sitting.moved} moved"
    return f", {_count(sitting.strokes, 'stroke')}" if sitting.strokes else ""


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" + ("" if number == 1 else "s")
