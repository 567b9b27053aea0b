"""Words that lead to the takes a figure stands on. Pages say them thousands of times: hence functions and no macros."""

from markupsafe import Markup, escape

from reedbench.instrument import InstrumentReed
from reedbench.pages.links import Links
from reedbench.reading import Reading


def linked(address: str, words: str) -> Markup:
    """`words` as a link to `address`, or as they are where that is empty."""
    return Markup(f'<a href="{escape(address)}">{escape(words)}</a>') if address else escape(words)


def stands_on(links: Links, survey: int, reed: InstrumentReed, reading: Reading, named: bool = True) -> Markup:
    """The takes that a reading of that survey stands on, each lot with its survey where that is another or `named`."""
    lots = []
    for other, words in reading.stands_on:  # numbers and words of our own, like the addresses
        said = f"{words} of survey {other or survey}" if named or other else words
        address = links.takes(other or survey, reed.ordinal)
        lots.append(f'<a href="{address}">{said}</a>' if address else said)
    return Markup(" and ".join(lots) or "no takes")
