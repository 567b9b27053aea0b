"""`make bench`: the firmware's own hearing beside the bound, beside its peers, and under all that spoils it; long life.

Writes docs/accuracy/figures.md, its other pages and the plots there. --quick measures a tenth of the tones and writes
nowhere unless --to says so.
"""

import argparse
import multiprocessing
import sys
import time
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE.parent / "meter"))  # signals.py

import agreement  # noqa: E402
import impaired  # noqa: E402
import long_life  # noqa: E402
import plan  # noqa: E402
import plots  # noqa: E402
import tables  # noqa: E402
import two  # noqa: E402
import work  # noqa: E402

DOCS = HERE.parents[1] / "docs" / "accuracy"
TONES = 10_080  # over all strata, each once with the reed expected and once without
PIECE = 70  # tones in one piece of work
SOUNDINGS = 400  # of each impairment: that share of errors within two standard errors is known to 1 %
COMPANY = 60  # tones of each stratum for the peers
SEED = 4

PAGE = """# Figures

<!-- Made by `make bench` (tests/bench). Do not edit. -->

What [Accuracy](../accuracy.md) speaks of, as measured in one run of `make bench`: the firmware's own code on
MicroPython's Unix port, over synthesised sound. {miss}marks a figure that misses the limit it is held to. Refused:
no figure. Flagged: a figure that the meter itself does not trust; it counts as a failure everywhere.

## Against the bound

{tones} harmonic tones with random phases and slopes of 3 to 12 dB an octave, half of them with the second harmonic
10 to 15 dB above the first; the expected reed is up to 100 cents off. The bound is Cramér and Rao's, of the
harmonics that the meter followed and of all below 7.6 kHz. Held to {over} times the former or {small} cent,
whichever is larger; to 80 % of the information (the sum of squares of number times amplitude, below 7.2 kHz) from
400 Hz up; to {clean:g} % refused or flagged; to {low:g} to {high:g} % of errors within two standard errors, and a
median standard error of at most {fat:g} times the RMS error.

{accuracy}
![RMS error and bound](bound.svg)

## Gross errors

The same tones, with the reed expected and without. Held to none, and to less than 0.1 %.

{gross}
## What spoils a reading

{soundings} recordings of each kind, 80 Hz to 3 kHz, heard by the whole chain from quiet to quiet; the error is
against the mean pitch sounded over the take's own span. Held to {survived:g} % refused or flagged. A breath that is
pulled is to be refused, or measured where it was not pulled: there the error is against the pitch before.

{survival}
![Errors under each impairment](impairments.svg)

## Range

{reach}
## In company

The same {company_tones} tones for everyone, over all strata above; RMS error in cents of what is not gross, by SNR.
Praat, FFT and the fit are told the expected pitch, within 200 cents, as the meter is. The meter is to be ahead of all
but the fit, and within {behind} times of that. Time is one core of a PC for one tone, to one digit.

{company}
![Errors of everyone](company.svg)
"""


def pieces(scale: float) -> list[tuple[Callable[..., Any], tuple[Any, ...]]]:
    """All the work of a run, the longest first."""
    strata = work.strata()
    found: list[tuple[Callable[..., Any], tuple[Any, ...]]] = []
    few = max(2, round(COMPANY * scale))
    found += [(work.company, ([(s, few) for s in strata[half::4]], [SEED, 3, half])) for half in range(4)]
    share = max(PIECE // 2, round(TONES * scale / len(strata)))
    for number, stratum in enumerate(strata):
        for begun in range(0, share, PIECE):
            found.append((work.accuracy, (stratum, min(PIECE, share - begun), [SEED, 1, number, begun])))
    for number, name in enumerate(impaired.ALL):
        found.append((work.survival, (name, max(10, round(SOUNDINGS * scale)), [SEED, 2, number])))
    hertz = (*work.RANGE_HZ, *work.OUTSIDE_HZ)
    found += [(work.reach, (float(hz), [SEED, 4, number])) for number, hz in enumerate(hertz)]
    return found


def run(scale: float) -> dict[Callable[..., Any], list[dict[str, Any]]]:
    """Rows by the kind of work, in the order of `pieces` however they were done."""
    tasks = pieces(scale)
    rows: dict[Callable[..., Any], list[dict[str, Any]]] = {}
    begun = time.monotonic()
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        for number, found in enumerate(pool.map(work.job, tasks), start=1):
            rows.setdefault(tasks[number - 1][0], []).extend(found if isinstance(found, list) else [found])
            if sys.stderr.isatty():
                print(f"\r{number} of {len(tasks)}, {time.monotonic() - begun:.0f} s", end="", file=sys.stderr)
    return rows


def described(name: str) -> str:
    return (impaired.ALL[name].__doc__ or "").split("\n\n")[0].rstrip(".").replace("\n   ", "")


def page(rows: dict[Callable[..., Any], list[dict[str, Any]]]) -> str:
    """The whole page of figures."""
    accuracy = rows[work.accuracy]
    return PAGE.format(
        miss=tables.MISS.strip() + " ",
        tones=f"{len(accuracy):,}",
        over=tables.OVER_BOUND,
        small=tables.SMALL_CENTS,
        clean=tables.CLEAN_PERCENT,
        survived=tables.SURVIVED_PERCENT,
        low=tables.COVERED[0],
        high=tables.COVERED[1],
        fat=tables.FAT,
        behind=tables.BEHIND,
        soundings=len(rows[work.survival]) // len(impaired.ALL),
        company_tones=sum(row["who"] == "the meter" for row in rows[work.company]),
        accuracy=tables.accuracy(accuracy, work.strata()),
        gross=tables.gross(accuracy),
        survival=tables.survival(rows[work.survival], impaired.SURVIVED, described),
        reach=tables.reach(rows[work.reach]),
        company=tables.company(rows[work.company]),
    )


def main() -> None:
    """Measures, writes page and plots, prints the page."""
    parser = argparse.ArgumentParser(prog="make bench", description=__doc__)
    parser.add_argument("--quick", action="store_true", help="a tenth of the tones, printed only")
    parser.add_argument("--to", type=Path, help="folder to write to")
    chosen = parser.parse_args()
    rows = run(0.1 if chosen.quick else 1.0)
    text = "\n".join([page(rows), plan.page(), long_life.page(long_life.measure(chosen.quick))])
    folder = chosen.to or (None if chosen.quick else DOCS)
    if folder:
        folder.mkdir(parents=True, exist_ok=True)
        (folder / "figures.md").write_text(text, encoding="utf-8")
        two.write(folder, chosen.quick)
        (folder / "agreement.md").write_text(agreement.page(agreement.table()), encoding="utf-8")
        plots.bound(rows[work.accuracy], folder / "bound.svg")
        plots.survival(rows[work.survival], folder / "impairments.svg")
        plots.company(rows[work.company], folder / "company.svg")
    print(text)


if __name__ == "__main__":
    main()
