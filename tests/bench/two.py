"""Several reeds at once: the host's resolver on the baseband, beside least squares on the raw samples and the bound.

The peer fits the same harmonics of every reed to every sample, from starts around the truth that the others do not
have; the bound is Cramér and Rao's for these harmonics, from the same derivatives.
"""

import multiprocessing
import sys
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

HERE = Path(__file__).parent
sys.path += [str(HERE.parent / "host"), str(HERE.parent / "meter")]  # two_reeds.py, signals.py

import tables  # noqa: E402
from reedbench.two import Baseband, resolve  # noqa: E402
from two_reeds import CENTS, RATE, baseband, cents  # noqa: E402

DOCS = HERE.parents[1] / "docs" / "accuracy"
KINDS = ("pair", "octave", "three")
HERTZ = (196.0, 440.0, 1047.0, 2349.0)
APART_CENTS = {"pair": (2, 5, 12, 30), "octave": (0.3, 1, 5, 20), "three": (4, 10, 25)}
BEATS = (1.0, 1.5, 3.0)  # as often the slowest pair of neighbours has beaten
FAINT_DB = (0, -12)  # of a pair's partner, of an octave's upper reed; of the outer two of three not
SNR_DB = 30.0
SWAY_CENTS, SWELL_DB = 0.15, 0.6  # of each of two waves, in a breath
SHORTEST_S, LONGEST_S = 0.25, 6.0
WITHIN_CENTS, WITHIN_HZ = 0.2, 0.05  # what every pair is held to
COVERED = (92, 99)  # percent of errors inside the stated 95 %
SEED = 5
ROUNDS = 8  # pieces of work, each of every kind of the grid
Samples = NDArray[np.float64]
Sounds = list[tuple[float, list[int]]]  # of each reed its pitch and the numbers of its own harmonics

PAGE = """# Two reeds at once

<!-- Made by `make bench` (tests/bench). Do not edit. -->

What [Pairs](../pairs.md) speaks of, as measured in one run of `make bench`. {miss}marks a figure that misses the limit
it is held to.

{pairs} takes of 196 Hz to 2.3 kHz at {snr:g} dB above the noise, heard until the slowest two have beaten so often:
pairs 2 to 30 cents apart, octaves 0.3 to 20 cents from true, musettes whose outer reeds are 4 to 30 cents from the
middle one. The host's resolver works on the baseband of three harmonics; beside it stand least squares on the raw
samples of the same stretch, and Cramér and Rao's bound of the same harmonics. Then the same reeds with a breath that
sways: pitch by {sway:g} cent and level by {swell:g} dB at most, at up to a hertz. Held to {cents:g} cent for each reed,
to {hz:g} Hz for the beat, and to {low} to {high} % of errors inside the stated uncertainty.

{table}
RMS / bound: errors of the pitches against the bound of each, without breath; 1 is as good as can be. Samples: the same
for least squares on the samples. The last three columns are with the breath; told apart is of both.
"""


def measure(quick: bool = False) -> list[dict[str, Any]]:
    """Rows of every take of a run."""
    rounds = 1 if quick else ROUNDS
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        return [row for rows in pool.map(_round, range(rounds)) for row in rows]


def _round(number: int) -> list[dict[str, Any]]:
    """One take of every kind of the grid."""
    rng = np.random.default_rng([SEED, number])
    return [
        _row(kind, beats, faint, seconds, _sounds(kind, hz, apart), rng)
        for kind in KINDS
        for hz in HERTZ
        for apart in APART_CENTS[kind]
        for beats in BEATS
        for faint in (FAINT_DB if kind != "three" else (0,))
        if SHORTEST_S <= (seconds := beats / _slowest(kind, hz, apart)) <= LONGEST_S
    ]


def _slowest(kind: str, hz: float, apart: float) -> float:
    """Beats a second of the slowest two neighbours, at the harmonic at which they meet."""
    return (
        hz * (2 if kind == "octave" else 1) * (2 ** (apart / 1200) - 1) / 2 ** (apart / 1200 if kind == "three" else 0)
    )


def _sounds(kind: str, hz: float, apart: float) -> Sounds:
    """The reeds, and which of the three harmonics that the meter keeps each has."""
    ratio = 2 ** (apart / 1200)
    numbers = [k for k in ((1, 2, 4) if kind == "octave" else (1, 2, 3)) if k * hz < 7200]
    if kind == "octave":
        return [(hz, numbers), (2 * hz * ratio, [k // 2 for k in numbers if k % 2 == 0])]
    return [(one, numbers) for one in ((hz, hz * ratio) if kind == "pair" else (hz / ratio, hz, hz * ratio**1.2))]


def _row(kind: str, beats: float, faint: int, seconds: float, sounds: Sounds, rng: np.random.Generator) -> Any:
    t = (np.arange(int(seconds * RATE)) - seconds * RATE / 2) / RATE
    sizes = [10 ** ((faint * (n == len(sounds) - 1)) / 20 - 8 * np.log2(own) / 20) for n, (_, own) in enumerate(sounds)]
    turns = [rng.uniform(0, 2 * np.pi, len(size)) for size in sizes]
    weights = np.concatenate(
        [(size * np.array([np.cos(turn), np.sin(turn)])).T for size, turn in zip(sizes, turns, strict=True)]
    ).ravel()
    weights *= np.sqrt(2 / np.sum(weights**2))  # of power 1 together
    noise = 10 ** (-SNR_DB / 20)
    near = sounds[0][0] * 2 ** (rng.uniform(-5, 5) / 1200)
    white = noise * rng.standard_normal(len(t))
    samples = _columns(t, sounds) @ weights + white
    take = baseband(samples, near, sounds[0][1])
    kept = int((take.count + 1) * take.step_s * RATE + 0.5)  # the others see no more than was kept
    pitch, level = _breath(t, kept, rng)
    breathed = level * (_columns(t + pitch, sounds) @ weights) + white
    truth = [hz for hz, _ in sounds]
    return {
        "kind": kind,
        "beats": beats,
        "faint": faint,
        "bound": _bound(t[:kept], sounds, weights, noise),
        "raw": _errors(_raw(samples[:kept], t[:kept], sounds), truth),
        "steady": _found(take, kind, truth),
        "breathed": _found(baseband(breathed, near, sounds[0][1]), kind, truth),
    }


def _breath(t: Samples, kept: int, rng: np.random.Generator) -> tuple[Samples, Samples]:
    """What a breath does to all reeds: (seconds that their phases run ahead, level), swaying at up to a hertz.

    The straight line through the phases of the samples kept stays what it is without: that is what pitch means here.
    """
    turns = 2 * np.pi * (np.outer(rng.uniform(0.1, 1.0, 4), t) + rng.uniform(0, 1, (4, 1)))
    sway = SWAY_CENTS / CENTS * np.sum(np.cos(turns[:2]), axis=0)
    level = 10 ** (SWELL_DB / 20 * np.sum(np.cos(turns[2:]), axis=0))
    ahead = np.cumsum(sway) / RATE
    return ahead - np.polyval(np.polyfit(t[:kept], ahead[:kept], 1), t), level


def _found(take: Baseband, kind: str, truth: Sequence[float]) -> dict[str, Any] | None:
    """Errors and stated uncertainties of the pitches, and the worst error of a beat; None where not told apart."""
    found = resolve(take)
    if found.kind != kind or not found.told:
        return None
    doubled = 2 if kind == "octave" else 1
    beats = [abs(high - doubled * low) for low, high in pairwise(truth)]
    return {
        "errors": _errors([reed.hz for reed in found.reeds], truth),
        "u95": [reed.u95_cents for reed in found.reeds],
        "beat": max(abs(beat.hz - true) for beat, true in zip(found.beats, beats, strict=True)),
    }


def _errors(hertz: Sequence[float], truth: Sequence[float]) -> list[float]:
    return [cents(one, two) for one, two in zip(hertz, truth, strict=True)]


def _columns(t: Samples, sounds: Sounds) -> Samples:
    angles = [2 * np.pi * k * hz * t for hz, own in sounds for k in own]
    return np.array([part(angle) for angle in angles for part in (np.cos, np.sin)]).T


def _raw(samples: Samples, t: Samples, sounds: Sounds) -> list[float]:
    """Least squares on the samples, Gauss and Newton's steps on the pitches, amplitudes projected out."""
    hertz = np.array([hz for hz, _ in sounds])
    for _ in range(4):
        tried = [(hz, own) for hz, (_, own) in zip(hertz, sounds, strict=True)]
        base = _columns(t, tried)
        weights = np.linalg.lstsq(base, samples, rcond=None)[0]
        changes = _freed(_changes(t, tried, weights), base)
        hertz = hertz + np.linalg.lstsq(changes, samples - base @ weights, rcond=None)[0]
    return list(hertz)


def _changes(t: Samples, sounds: Sounds, weights: Samples) -> Samples:
    """How the sum changes with each reed's pitch."""
    changes = np.zeros((len(t), len(sounds)))
    pairs = iter(weights.reshape(-1, 2))
    for r, (hz, own) in enumerate(sounds):
        for k in own:
            a, b = next(pairs)
            angle = 2 * np.pi * k * hz * t
            changes[:, r] += 2 * np.pi * k * t * (b * np.cos(angle) - a * np.sin(angle))
    return changes


def _freed(changes: Samples, base: Samples) -> Samples:
    """What of these no amplitudes and phases can stand for."""
    q = np.linalg.qr(base)[0]
    return np.asarray(changes - q @ (q.T @ changes))


def _bound(t: Samples, sounds: Sounds, weights: Samples, noise: float) -> list[float]:
    """Cramér and Rao's bound of each pitch, in cents, amplitudes and phases unknown too."""
    changes = _freed(_changes(t, sounds, weights), _columns(t, sounds))
    variance = noise**2 * np.diag(np.linalg.inv(changes.T @ changes))
    return [float(CENTS * np.sqrt(v) / hz) for v, (hz, _) in zip(variance, sounds, strict=True)]


def page(rows: Sequence[dict[str, Any]]) -> str:
    """The page of figures."""
    return PAGE.format(
        miss=tables.MISS.strip() + " ",
        pairs=f"{len(rows):,}",
        snr=SNR_DB,
        cents=WITHIN_CENTS,
        hz=WITHIN_HZ,
        sway=2 * SWAY_CENTS,
        swell=2 * SWELL_DB,
        low=COVERED[0],
        high=COVERED[1],
        table=table(rows),
    )


def table(rows: Sequence[dict[str, Any]]) -> str:
    """The rows of each kind, number of beats and level, as a table."""
    lines = [
        "| | beats | fainter | takes | told apart | RMS / bound | samples | worst, cent | beat, worst | inside u95 |",
        f"|{10 * '---|'}",
    ]
    for kind in KINDS:
        for beats in BEATS:
            for faint in FAINT_DB:
                group = [row for row in rows if (row["kind"], row["beats"], row["faint"]) == (kind, beats, faint)]
                if group:
                    lines.append(f"| {kind} | {beats:g} | {-faint} dB | {_cells(group)} |")
    return "\n".join(lines) + "\n"


def _cells(group: Sequence[dict[str, Any]]) -> str:
    steady = [row for row in group if row["steady"]]
    told = [row["breathed"] for row in group if row["breathed"]]
    share = 50 * (len(told) + len(steady)) / len(group)
    bounds, raw = (np.array([row[key] for row in steady]) for key in ("bound", "raw"))
    errors, u95 = (np.array([one[key] for one in told]) for key in ("errors", "u95"))
    worst, beat = np.max(np.abs(errors)), max(one["beat"] for one in told)
    inside = 100 * np.mean(np.abs(errors) < u95)
    cells = (
        f"{len(group)}",
        f"{share:.0f} %{_miss(share < 100)}",
        f"{_over(np.array([row['steady']['errors'] for row in steady]), bounds):.2f}",
        f"{_over(raw, bounds):.2f}",
        f"{worst:.3f}{_miss(worst > WITHIN_CENTS)}",
        f"{beat:.4f}{_miss(beat > WITHIN_HZ)}",
        f"{inside:.0f} %{_miss(not COVERED[0] <= inside <= COVERED[1])}",
    )
    return " | ".join(cells)


def _over(errors: Samples, bounds: Samples) -> float:
    return float(np.sqrt(np.mean((errors / bounds) ** 2)))


def _miss(missed: bool) -> str:
    return tables.MISS if missed else ""


if __name__ == "__main__":
    found = page(measure("--quick" in sys.argv))
    (DOCS / "pairs.md").write_text(found, encoding="utf-8")
    print(found)
