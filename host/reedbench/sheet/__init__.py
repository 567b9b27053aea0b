"""The printed page of a plan: the plates as they lie on the bench, each reed with its move, the work order.

    render(plan, survey_info) -> str

One self-contained HTML page: no script, nothing fetched from anywhere, all text escaped; in a site with links to its
other pages.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from jinja2 import Environment

from reedbench import course
from reedbench.coupling import Pair
from reedbench.jobs import JOBS
from reedbench.pages.links import Links
from reedbench.plan import Plan
from reedbench.sheet.drawing import BELOW, BODY_TOP, plates
from reedbench.sheet.engine import environment
from reedbench.sheet.pair_curve import drawings
from reedbench.sheet.reed_svg import reed_svg
from reedbench.sheet.worklist import checklist, faces
from reedbench.terminal import MOST_BEATS, beat_words, kind, on_bench, ordered, summary
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
    number: int = 0  # in the ledger


@cache
def _environment() -> Environment:
    return environment("reedbench.sheet", signed=signed, on_bench=on_bench)


def render(
    plan: Plan,
    survey: SurveyInfo,
    mirrored: bool = False,
    links: Links | None = None,
    pairs: Sequence[Pair] = (),
) -> str:
    """The page, as text to be written in UTF-8; `mirrored` with the plates seen from below, from their inner face.

    `links`: to the other pages of a site that it belongs to; `pairs`: those of the instrument.
    """
    layout = plan.instrument.layout
    return (
        _environment()
        .get_template("page.html")
        .render(
            plan=plan,
            instrument=plan.instrument,
            survey=survey,
            links=links or Links(),
            kind=kind(plan.instrument),
            ordered=ordered(plan.instrument),
            summary=summary(plan),
            comb=layout.has_comb,
            mouth_blown=layout.wind == "mouth",
            plates=plates(plan, mirrored),
            mirrored=mirrored,
            body_top=BODY_TOP,
            below=BELOW,
            reed_svg=reed_svg,
            faces=faces(layout, mirrored),
            sample_face=("inner" if mirrored else "outer") if faces(layout) else "plain",
            jobs=JOBS,
            title_of=lambda stage: course.title(layout, stage),
            note_of=lambda stage: course.note(layout, stage),
            then_of=lambda stage: course.then(plan, stage),
            part_words=lambda part: course.part_words(plan, part),
            beats_of=lambda one: beat_words(plan, one),
            ending=list(course.ending(plan)),
            weighted=any(item.weighted for item in plan.items),
            beating=plan.beating()[:MOST_BEATS],
            pairs=drawings(pairs),
            checklist=checklist(plan),
        )
    )
