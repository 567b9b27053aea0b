"""How long a ledger of many instruments takes as a site: `make bench` is about the hearing, this about the pages.

.venv/bin/python tests/bench/site.py [INSTRUMENTS]     otherwise 2000

Every instrument has been in the shop once: a survey, a pass, a survey after it. Two in three have ten holes, the others
are slide chromatics of twelve and sixteen.
"""

import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "host"))

from record_book import RecordBook
from reedbench.ledger import Ledger
from reedbench.pages import site
from reedbench.planning import planned
from shop import instrument as made

LAYOUTS = ("richter-10", "richter-10", "solo-12", "richter-10", "richter-10", "solo-16")


def write(path: Path, count: int) -> None:
    """A ledger of so many instruments at `path`."""
    kinds = {layout: made(layout) for layout in LAYOUTS}
    for number in range(count):
        one = replace(kinds[LAYOUTS[number % len(LAYOUTS)]], key_id=f"{number:016x}", name=f"Instrument {number}")
        book = RecordBook(path, one, seed=number)
        book.now_s += 86_400 * number // 4
        book.survey(spoiled=(3,))
        with Ledger.open(path) as ledger:
            book.work(planned(ledger, None)[1].items)
        book.survey(1)


def main(count: int) -> None:
    """Write the ledger and the site, and say how long each took."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ledger.db"
        start = time.perf_counter()
        write(path, count)
        written = time.perf_counter()
        print(f"ledger of {count} instruments: {path.stat().st_size >> 20} MB, {written - start:.0f} s to make")
        with Ledger.open(path) as ledger:
            found = site.write(ledger, Path(folder) / "site")
        spent = time.perf_counter() - written
        print(
            f"site: {found.pages} pages, {found.size_bytes >> 20} MB, {spent:.1f} s, {1e3 * spent / count:.0f} ms each"
        )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 2000)
