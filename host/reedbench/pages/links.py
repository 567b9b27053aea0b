"""Where the pages of a site lie, and how they link to each other; a page that stands alone links to nothing.

An instrument has a folder of its own, named by its key. Keys come from files and meters: one that is no plain key is
replaced by a digest of it, so that no name of a file is ever made of what people, or others, wrote.
"""

import hashlib
from dataclasses import dataclass

HEX = set("0123456789abcdef")


def folder_of(key: str) -> str:
    """Name of the folder of the instrument of that key: always 16 or 17 plain characters."""
    if len(key) == 16 and set(key) <= HEX:
        return key
    return "x" + hashlib.sha256(key.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def is_folder(name: str) -> bool:
    """Whether `folder_of` may have given a folder that name."""
    plain = name.removeprefix("x")
    return len(plain) == 16 and set(plain) <= HEX


def anchor(ordinal: int) -> str:
    """Name of the place of a reed on a page."""
    return f"reed-{ordinal}"


@dataclass(frozen=True)
class Links:
    """Links from one page of an instrument to others of it, all empty where the page stands alone.

    `surveys`: numbers of the surveys that have a page of takes; `last`: number of the one that the record goes to.
    """

    site: bool = False
    surveys: frozenset[int] = frozenset()
    last: int = 0

    def takes(self, survey: int, ordinal: int | None = None) -> str:
        """To the takes of a survey, of one reed in it."""
        if not self.site or survey not in self.surveys:
            return ""
        return f"takes-{survey}.html" + ("" if ordinal is None else f"#{anchor(ordinal)}")

    def record(self, survey: int) -> str:
        """To the record for the owner that ends with a survey."""
        return f"record-{survey}.html" if self.site else ""

    def reeds(self, ordinal: int | None = None) -> str:
        """To the history of reeds, of one of them."""
        if not self.site:
            return ""
        return "reeds.html" + ("" if ordinal is None else f"#{anchor(ordinal)}")

    @property
    def trail(self) -> tuple[tuple[str, str], ...]:
        """(address, words) of the pages of the instrument, the way back first."""
        if not self.site:
            return ()
        return (
            ("../index.html", "All instruments"),
            ("index.html", "Surveys"),
            (self.record(self.last), "Record"),
            ("sheet.html", "Bench sheet"),
            ("reference.html", "Reference"),
            ("reeds.html", "Reeds"),
        )
