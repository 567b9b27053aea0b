"""What a plan costs: process time of an instrument's plan from a ledger, and that it grows with takes and no faster.

.venv/bin/python tests/bench/plan.py
"""

import sys
import tempfile
import time
from pathlib import Path

HOST_TESTS = Path(__file__).parents[1] / "host"
sys.path.insert(0, str(HOST_TESTS))  # book.py, shop.py

import numpy as np  # noqa: E402
from book import Book  # noqa: E402
from reedbench.ledger import Ledger  # noqa: E402
from reedbench.planning import planned  # noqa: E402
from shop import instrument  # noqa: E402

SURVEYS = 10
TAKES = (2, 4, 8, 16)  # of each reed
LIMIT_MS = 100.0  # for ten surveys of 64 reeds, two takes each
REPEATS = 5

PAGE = """## What a plan costs

Process time of the plan of a sixteen-hole chromatic, 64 reeds, from a ledger with {surveys} surveys after as many
passes, the best of {repeats}; the last seven of them count. Held to less than {limit:g} ms with two takes of each reed,
and to time in proportion to takes at most.

| takes of each reed | takes in the ledger | ms | µs a take |
|---|---|---|---|
"""


def spent_ms(takes: int) -> float:
    """Process time of one plan, in milliseconds, with so many takes of each reed in each survey."""
    one = instrument("solo-16", tolerance_cents=2.0)
    with tempfile.TemporaryDirectory() as folder:
        book = Book(Path(folder) / "ledger.db", one)
        for number in range(SURVEYS):
            rng = np.random.default_rng(number)
            cents = {reed.ordinal: float(rng.normal(0, 6 - number / 2)) for reed in one.reeds}
            book.survey(cents, pass_number=number, scatter=0.35, seed=number, takes=takes)
        with Ledger.open(book.path) as ledger:
            planned(ledger, None)
            return min(_timed(ledger) for _ in range(REPEATS))


def _timed(ledger: Ledger) -> float:
    begun = time.process_time()
    planned(ledger, None)
    return 1e3 * (time.process_time() - begun)


def page() -> str:
    """The section about it on the page of figures."""
    reeds = len(instrument("solo-16").reeds)
    found = {takes: spent_ms(takes) for takes in TAKES}
    lines = [
        f"| {takes} | {takes * reeds * SURVEYS:,} | {ms:.0f} | {1e3 * ms / (takes * reeds * SURVEYS):.1f} |\n"
        for takes, ms in found.items()
    ]
    missed = found[TAKES[0]] >= LIMIT_MS or found[TAKES[-1]] > found[TAKES[0]] * TAKES[-1] / TAKES[0]
    verdict = "\nMissed.\n" if missed else "\nMet.\n"
    return PAGE.format(surveys=SURVEYS, repeats=REPEATS, limit=LIMIT_MS) + "".join(lines) + verdict


if __name__ == "__main__":
    print(page())
