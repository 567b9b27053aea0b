"""The printed page of a plan: the plates as they lie on the bench, each reed with its move, the work order.

    render(plan, survey_info) -> str

One self-contained HTML page: no script, nothing fetched from anywhere, all text escaped.
"""

from dataclasses import dataclass
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined

from reedbench.plan import Plan
from reedbench.sheet.drawing import BELOW, BODY_TOP, PAD, plates
from reedbench.sheet.worklist import checklist, faces, stages
from reedbench.terminal import MOST_BEATS, kind, on_bench, ordered, summary
from reedbench.words import signed

__all__ = ["SurveyInfo", "render"]


@dataclass(frozen=True)
class SurveyInfo:
    """What the sheet says about the survey behind the plan: text for people, empty where unknown."""

    taken: str = ""  # when
    state: str = ""  # how the reeds were sounded
    meter: str = ""
    takes: int = 0
    pass_number: int = 0  # which pass of the work the survey follows; 0 before any


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("reedbench.sheet"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"signed": signed, "on_bench": on_bench}
    return environment


def render(plan: Plan, survey: SurveyInfo) -> str:
    """The page, as text to be written in UTF-8."""
    layout = plan.instrument.layout
    return (
        _environment()
        .get_template("page.html")
        .render(
            plan=plan,
            instrument=plan.instrument,
            survey=survey,
            kind=kind(plan.instrument),
            ordered=ordered(plan.instrument),
            summary=summary(plan),
            comb=layout.has_comb,
            mouth_blown=layout.wind == "mouth",
            plates=plates(plan),
            body_top=BODY_TOP,
            below=BELOW,
            pad=PAD,
            faces=faces(layout),
            sample_face="outer" if faces(layout) else "plain",
            stages=stages(plan),
            beating=plan.beating()[:MOST_BEATS],
            checklist=checklist(plan),
        )
    )
