"""`reedbench plan`: what to do to which reed."""

import shutil
from pathlib import Path

import click

from reedbench.beats_table import beats_as_dict, beats_lines
from reedbench.costing import Costing, asked_range
from reedbench.errors import BadInput
from reedbench.hand.counting import counted_out, hand_of
from reedbench.ledger import Ledger, StoredSurvey
from reedbench.loudness import slopes
from reedbench.options import correction_options, json_option, ledger_option, state_option, survey_argument
from reedbench.output import note, report
from reedbench.pairing import alone, paired
from reedbench.plan import Plan
from reedbench.plan_data import plan_as_dict
from reedbench.planning import planned
from reedbench.surveys import day, other_states, survey_dict, takes_of
from reedbench.temperature import Correction
from reedbench.terminal import plan_lines
from reedbench.why import item_named, why_as_dict, why_lines


@click.command("plan")
@survey_argument
@state_option
@click.option("--why", "reed", metavar="REED", help="Explain every number of one reed, named as in the plan.")
@click.option(
    "--reference",
    "asked",
    metavar="[LOW-HIGH]",
    is_flag=False,
    flag_value="",
    help="Compare the work at every A of a range, in hertz; otherwise 5 Hz either way of the one ordered.",
)
@click.option("--together", "beats", is_flag=True, help="List how fast all beats that sounds together, chords too.")
@correction_options
@ledger_option
@json_option
def command(
    survey: int | None,
    state: str | None,
    reed: str | None,
    asked: str | None,
    beats: bool,
    correction: Correction | None,
    ledger_path: Path,
    as_json: bool,
) -> None:
    """Plan the work that follows from the SURVEY of that number, or from the last one.

    A plan follows from one state of sounding: a reed reads differently with the covers off. Earlier surveys in that
    state say how reeds settle, and which have changed by themselves.

    \b
    Example:
        reedbench plan 12
        reedbench plan 12 --state "covers off"
        reedbench plan 12 --why "3 draw, slide in"
        reedbench plan 12 --reference 438-443
        reedbench plan 12 --together
    """
    if (reed is not None) + (asked is not None) + beats > 1:
        raise BadInput("--why, --reference and --together exclude each other: ask one after the other")
    with Ledger.open(ledger_path) as ledger:
        taken, plan = planned(ledger, alone(ledger, survey), state, correction)
        plan = counted_out(plan, hand_of(ledger))
        levels = slopes(takes_of(ledger, taken), ledger.traces(taken.number)) if reed is not None else {}
        pairs = paired(ledger, taken, plan) if beats else []
    if others := other_states(taken):
        note(others)
    width = shutil.get_terminal_size().columns
    if reed is not None:
        item = item_named(plan, reed)
        level = levels.get(item.reed.ordinal)
        found, lines = why_as_dict(plan, item, level), why_lines(plan, item, level, width)
    elif asked is not None:
        costing = Costing(plan, *asked_range(asked, plan.instrument.order.reference_hz))
        found, lines = costing.as_dict(), costing.lines(width)
    elif beats:
        found, lines = beats_as_dict(plan, pairs), list(beats_lines(plan, pairs, width))
    else:
        found, lines = plan_as_dict(plan), plan_lines(plan, width)
    report({"survey": survey_dict(taken), **found}, [*_origin(taken, plan), *lines], as_json)


def _origin(survey: StoredSurvey, plan: Plan) -> list[str]:
    """Which survey, and how it was sounded; says of an imported one where its uncertainties come from."""
    done = f", after pass {survey.pass_number}" if survey.pass_number else ""
    warmth = f", {plan.celsius:.0f} °C" if plan.celsius is not None else ""
    head = f"Survey {survey.number}, {day(survey)}: {survey.state}{done}{warmth}."
    if survey.file is None:
        return [head]
    return [head, f"From readings imported from {survey.file}, with the uncertainties stated there."]
