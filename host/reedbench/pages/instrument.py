"""The first page of an instrument: its surveys, what happened between them, and the ways to everything else."""

from reedbench.evidence import MOVED
from reedbench.hand.past import Past, Stretch
from reedbench.hand.shop import Shop
from reedbench.hand.told import between_words, common_words, pace_words, pass_words, settled_words, tiring_words
from reedbench.hand.trends import repeats_cents, settled_in, tiring
from reedbench.ledger import StoredSurvey
from reedbench.pages.engine import render
from reedbench.pages.links import Links
from reedbench.terminal import kind, ordered, summary


def instrument(past: Past, others: list[StoredSurvey], shop: Shop, links: Links) -> str:
    """The page; `others` are its surveys in other states, which have pages of takes too."""
    return render(
        "instrument.html",
        links=links,
        instrument=past.instrument,
        kind=kind(past.instrument),
        ordered=ordered(past.instrument),
        past=past,
        others=others,
        summary=summary(past.chapters[-1].plan),
        between=[
            (between_words(one), _did(one), one.before.survey.number, one.after.survey.number) for one in past.stretches
        ],
        records=[(job[-1].survey.number, job[-1].survey) for job in past.jobs],
        settled=[settled_words(one) for one in settled_in(past)],
        tiring=[(one.reed.ordinal, tiring_words(one)) for one in tiring(past)],
        repeats=repeats_cents(past.stretches),
        pace=pace_words(shop.pace),
        estimate=shop.pace.estimate(past.chapters[-1].plan),
    )


def _did(stretch: Stretch) -> list[str]:
    said = [pass_words(stretch, action) for action in MOVED]
    return [words for words in (*said, common_words(stretch)) if words]
