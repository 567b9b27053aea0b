"""The rows of a run as tables of a page. Every table says which limit it is held to; a miss is marked."""

from collections.abc import Callable, Iterable, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray
from work import Stratum

GROSS_CENTS = 50
OVER_BOUND, SMALL_CENTS = 1.15, 0.005  # RMS error: this many times the bound, or this if it is larger
SHARE_LEAST = 0.8  # of the information, from 400 Hz up
CLEAN_PERCENT, SURVIVED_PERCENT = 2.0, 10.0  # refused or flagged, at most
COVERED = (92.0, 99.0)  # percent of errors within two standard errors
FAT = 3.0  # median uncertainty over RMS error, at most
BEHIND = 1.2  # the meter's error over the least-squares fit's, at most
MISS = " **!**"

Rows = Sequence[dict[str, Any]]


def good(rows: Rows) -> Rows:
    """Those with a figure that nothing is said against."""
    return [row for row in rows if row["error"] is not None and not row["flags"]]


def errors(rows: Rows) -> NDArray[np.float64]:
    return np.array([row["error"] for row in rows])


def fine(rows: Rows) -> Rows:
    """Those that are not gross."""
    return [row for row in rows if abs(row["error"]) <= GROSS_CENTS]


def rms(values: NDArray[np.float64]) -> float:
    return float(np.sqrt(np.mean(values**2))) if len(values) else float("nan")


def percent(part: int, whole: int) -> float:
    return 100 * part / max(1, whole)


def figure(value: float, digits: int = 2) -> str:
    """A number in so many significant digits, never in powers of ten."""
    if not np.isfinite(value):
        return "-"
    places = digits - 1 - int(np.floor(np.log10(abs(value)))) if value else 0
    return f"{value:.{min(6, max(0, places))}f}"


def marked(text: str, holds: bool) -> str:
    return text if holds else text + MISS


def table(heads: Sequence[str], lines: Iterable[Sequence[str]]) -> str:
    rule = ["---"] * len(heads)
    return "\n".join("| " + " | ".join(cells) + " |" for cells in [heads, rule, *lines]) + "\n"


def coverage(rows: Rows) -> float:
    return percent(sum(abs(row["error"]) < 2 * row["se"] for row in rows), len(rows))


def bars(rows: Rows) -> tuple[str, str]:
    """Cells: percent of errors within two standard errors, and two median standard errors over twice the RMS error."""
    share = coverage(rows)
    fat = float(np.median([row["se"] for row in rows])) / rms(errors(rows)) if rows else float("nan")
    return marked(f"{share:.1f}", COVERED[0] <= share <= COVERED[1]), marked(f"{fat:.2f}", fat <= FAT)


def accuracy(rows: Rows, strata: Sequence[Stratum]) -> str:
    heads = ["register", "s", "SNR dB", "RMS error, cents", "over bound of the followed", "over bound of all"]
    heads += ["information followed, mean (5th percentile)", "refused %", "flagged %", "within 2 se, %", "se / RMS"]
    lines = []
    for stratum in strata:
        mine = [row for row in rows if row["stratum"] == stratum]
        kept = fine(good(mine))
        error = errors(kept)
        over = rms(error / np.array([row["bound"] for row in kept]))
        over_all = rms(error / np.array([row["bound_all"] for row in kept]))
        shares = [row["share"] for row in kept] or [0.0]
        share, least = float(np.mean(shares)), float(np.percentile(shares, 5))
        held = over <= OVER_BOUND or rms(error) <= SMALL_CENTS
        lost, flagged = failures(mine)
        lines.append(
            [
                stratum.register,
                str(stratum.seconds),
                str(stratum.snr_db),
                figure(rms(error)),
                marked(f"{over:.2f}", held),
                f"{over_all:.2f}",
                marked(
                    f"{100 * share:.0f} % ({100 * least:.0f})",
                    share >= SHARE_LEAST or stratum.register.startswith("80"),
                ),
                marked(f"{lost:.1f}", lost + flagged <= CLEAN_PERCENT),
                f"{flagged:.1f}",
                *bars(kept),
            ]
        )
    return table(heads, lines)


def failures(rows: Rows) -> tuple[float, float]:
    """Percent without a figure, and percent with one that is flagged."""
    lost = sum(row["error"] is None for row in rows)
    return percent(lost, len(rows)), percent(len(rows) - lost - len(good(rows)), len(rows))


def gross(rows: Rows) -> str:
    lines = []
    for prior, error, flags, most in (
        ("expected", "error", "flags", 0.0),
        ("unknown", "error_free", "flags_free", 0.1),
    ):
        heard = [row[error] for row in rows if row[error] is not None and not row[flags]]
        wrong = sum(abs(e) > GROSS_CENTS for e in heard)
        share = percent(wrong, len(rows))
        held = share <= most if most == 0 else share < most
        lines.append(
            [prior, str(len(rows)), marked(str(wrong), held), f"{percent(len(rows) - len(heard), len(rows)):.2f}"]
        )
    return table(["reed", "tones", f"off by over {GROSS_CENTS} cents", "refused or flagged %"], lines)


def survival(rows: Rows, survived: Iterable[str], described: Callable[[str], str]) -> str:
    heads = ["impairment", "what", "RMS error, cents", "worst", "refused %", "flagged %", "within 2 se, %", "se / RMS"]
    lines = []
    for name in dict.fromkeys(row["name"] for row in rows):
        mine = [row for row in rows if row["name"] == name]
        kept = good(mine)
        flagged = percent(sum(bool(row["flags"]) for row in mine), len(mine))
        bad = percent(len(mine) - len(kept), len(mine))
        most = CLEAN_PERCENT if name == "clean" else SURVIVED_PERCENT
        error = np.abs(errors(kept))
        lines.append(
            [
                name,
                described(name),
                figure(rms(error)),
                marked(figure(float(np.max(error))), np.max(error) <= GROSS_CENTS) if kept else "-",
                marked(f"{bad - flagged:.0f}", name not in survived or bad <= most),
                f"{flagged:.0f}",
                *(bars(fine(kept)) if name in survived else ("", "")),
            ]
        )
    return table(heads, lines)


def reach(rows: Rows) -> str:
    def cell(row: dict[str, Any], key: str) -> str:
        if row[key] is None:
            return marked("refused", not row["inside"])
        return marked(figure(abs(row[key])), row["inside"] and abs(row[key]) < GROSS_CENTS)

    lines = [[f"{row['hz']:g}", cell(row, "error"), cell(row, "error_free")] for row in rows]
    return table(["Hz", "error, cents, expected", "error, cents, unknown"], lines)


def company(rows: Rows) -> str:
    everyone = list(dict.fromkeys(row["who"] for row in rows))
    snrs = sorted({row["stratum"].snr_db for row in rows})
    found: dict[str, list[float]] = {}
    for who in everyone:
        for snr in snrs:
            heard = [r for r in rows if r["who"] == who and r["stratum"].snr_db == snr and r["error"] is not None]
            found.setdefault(who, []).append(rms(errors(fine(heard))))
    lines = []
    for who in everyone:
        mine = [row for row in rows if row["who"] == who]
        heard = [row for row in mine if row["error"] is not None]
        cells = []
        for number in range(len(snrs)):
            others = [found[other][number] / (BEHIND if other.startswith("least") else 1) for other in everyone[1:]]
            held = who != everyone[0] or found[who][number] <= BEHIND**2 * min(others)
            held = held and (who != everyone[0] or all(found[who][number] < found[o][number] for o in everyone[2:]))
            cells.append(marked(figure(found[who][number]), held))
        wrong = percent(len(heard) - len(fine(heard)), len(mine))
        none = percent(len(mine) - len(heard), len(mine))
        spent = float(np.median([row["ms"] for row in mine]))
        lines.append([who, *cells, f"{wrong:.1f}", f"{none:.1f}", figure(spent, 1)])
    return table(["who", *(f"{snr} dB" for snr in snrs), "gross %", "no figure %", "ms"], lines)
