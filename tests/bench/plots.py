"""The plots of a run, as SVG that is the same wherever the numbers are."""

import io
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import matplotlib
import numpy as np

matplotlib.use("svg")
matplotlib.rcParams.update({"svg.hashsalt": "reedbench", "svg.fonttype": "none", "font.size": 9, "axes.grid": True})
from matplotlib import pyplot as plt  # noqa: E402
from tables import errors, fine, good, rms  # noqa: E402
from work import REGISTERS, SNRS_DB, SPANS_S  # noqa: E402

Rows = Sequence[dict[str, Any]]


def _save(figure: Any, path: Path) -> None:
    figure.tight_layout()
    drawn = io.StringIO()
    figure.savefig(drawn, metadata={"Date": None, "Creator": None})
    plt.close(figure)
    path.write_text(" ".join(drawn.getvalue().split()) + "\n", encoding="utf-8")  # one line: nobody edits it


def bound(rows: Rows, path: Path) -> None:
    """RMS error of the meter over SNR, beside the bound of the harmonics followed."""
    figure, axes = plt.subplots(1, 2, figsize=(8, 3.4), sharey=True)
    for axis, register in zip(axes, REGISTERS, strict=True):
        for colour, span in zip(("C0", "C1", "C2"), SPANS_S, strict=True):
            met, least = [], []
            for snr in SNRS_DB:
                strata = (snr, span, register)
                kept = fine(good([r for r in rows if _of(r) == strata]))
                met.append(rms(errors(kept)))
                least.append(rms(np.array([r["bound"] for r in kept])))
            axis.semilogy(SNRS_DB, met, "o" + "-", color=colour, label=f"{span} s")
            axis.semilogy(SNRS_DB, least, "k:", label="bound" if span == SPANS_S[-1] else None)
        axis.set(title=register, xlabel="tone over white noise, dB", xticks=SNRS_DB)
    axes[0].set_ylabel("RMS error, cents")
    axes[0].legend()
    _save(figure, path)


def _of(row: dict[str, Any]) -> tuple[int, float, str]:
    stratum = row["stratum"]
    return stratum.snr_db, stratum.seconds, stratum.register


def company(rows: Rows, path: Path) -> None:
    """Share of tones with an error below what the axis says, for the meter and each peer; no figure counts as worse."""
    figure, axis = plt.subplots(figsize=(6, 3.6))
    for who in dict.fromkeys(row["who"] for row in rows):
        mine = [row for row in rows if row["who"] == who]
        error = np.sort([abs(row["error"]) + 1e-6 if row["error"] is not None else np.inf for row in mine])
        axis.semilogx(error, np.arange(1, len(error) + 1) / len(error), label=who)
    axis.axvline(50, color="k", linestyle=":")
    axis.set(xlim=(1e-5, 1e4), xlabel="error, cents", ylabel="share of tones below")
    axis.legend(fontsize=7)
    _save(figure, path)


def survival(rows: Rows, path: Path) -> None:
    """Errors of the clean takes under each impairment."""
    names = list(dict.fromkeys(row["name"] for row in rows))
    figure, axis = plt.subplots(figsize=(7, 4))
    for place, name in enumerate(names):
        error = np.abs(errors(good([row for row in rows if row["name"] == name]))) + 1e-5
        axis.semilogx(error, np.full(len(error), len(names) - place), "|", color="C0")
    axis.set(yticks=range(len(names), 0, -1), yticklabels=names, xlabel="error of a take, cents")
    _save(figure, path)


def pairs(rows: Rows, kinds: Sequence[str], path: Path) -> None:
    """RMS error of the pitches over the beats in the span: the resolver's, with a breath too, least squares', bound."""
    figure, axes = plt.subplots(1, len(kinds), figsize=(9, 3.2), sharey=True)
    for axis, kind in zip(axes, kinds, strict=True):
        told = [row for row in rows if row["kind"] == kind and row["steady"] and row["breathed"]]
        beats = sorted({row["beats"] for row in told})
        groups = [[row for row in told if row["beats"] == one] for one in beats]
        for name, line, of in (
            ("resolver", "C0o-", lambda row: row["steady"]["errors"]),
            ("resolver, breath sways", "C1s-", lambda row: row["breathed"]["errors"]),
            ("least squares on samples", "C2x-", lambda row: row["raw"]),
            ("bound", "k:", lambda row: row["bound"]),
        ):
            axis.loglog(
                beats, [rms(np.array([of(row) for row in group]).ravel()) for group in groups], line, label=name
            )
        axis.set(title=kind, xlabel="beats in the span", xticks=beats, xticklabels=[f"{one:g}" for one in beats])
        axis.minorticks_off()
    low, high = axes[0].get_ylim()
    ticks = [one for one in (0.0005, 0.001, 0.002, 0.005, 0.01, 0.02, 0.05) if low < one < high]
    axes[0].set(ylabel="RMS error, cents", yticks=ticks, yticklabels=[f"{one:g}" for one in ticks])
    axes[0].minorticks_off()
    axes[-1].legend(fontsize=7)
    _save(figure, path)
