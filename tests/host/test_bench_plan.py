"""A plan made on the bench is honest about what its reeds will read assembled, of which it has only learned some.

Reeds of one plate or register err together, so that twenty instruments tell the coverage to about a percent and a half.
"""

import numpy as np
import pytest
from book import Book
from shop import instrument as made

SCATTER = 0.35


def bench_plan(path, rng, every):
    """(errors of its readings, their uncertainties): one reed in `every` was read assembled before the pass."""
    one = made(tolerance_cents=3.0)
    book = Book(path, one)
    common, register = rng.normal(0, 3), rng.normal(0, 0.7, 4)
    plate = dict(zip(one.plates, rng.normal(0, 1, 2), strict=True))
    lowest = min(reed.midi for reed in one.reeds)
    offset = {
        reed.ordinal: common + plate[reed.plate] + register[(reed.midi - lowest) // 12] + rng.normal(0, 0.6)
        for reed in one.reeds
    }
    before = dict(enumerate(rng.normal(0, 4, len(one.reeds))))
    after = {n: cents + rng.normal(0, 2) for n, cents in before.items()}
    seeds = rng.integers(1 << 30, size=3)
    book.survey({n: before[n] - offset[n] for n in before}, scatter=SCATTER, seed=seeds[0])
    some = {n: before[n] for n in before if n % every == 0}
    book.survey(some, state="assembled", scatter=SCATTER, seed=seeds[1])
    book.survey({n: after[n] - offset[n] for n in after}, pass_number=1, scatter=SCATTER, seed=seeds[2])
    read = [(n, item.reading) for n, item in book.plan().items() if item.reading.cents is not None]
    return [reading.cents - after[n] for n, reading in read], [reading.u95_cents for _, reading in read]


@pytest.mark.parametrize(("every", "median"), [(1, 0.9), (3, 1.4)])
def test_uncertainties_cover_what_it_will_read_assembled(tmp_path, every, median):
    errors, u95 = [], []
    for n in range(20):
        some = bench_plan(tmp_path / f"{n}.db", np.random.default_rng([12, every, n]), every)
        errors += some[0]
        u95 += some[1]
    covered = np.mean(np.abs(errors) <= u95)
    print(f"{len(errors)} readings, {covered:.1%} covered, median {np.median(u95):.2f} cents")
    assert 0.90 <= covered <= 0.98 and np.median(u95) < median
