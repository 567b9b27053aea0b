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

import noticed  # noqa: E402
import tables  # noqa: E402
from reedbench.two import Baseband, resolve  # noqa: E402
from two_reeds import CENTS, RATE, baseband, cents  # noqa: E402

DOCS = HERE.parents[1] / "docs" / "accuracy"
KINDS = ("pair", "octave", "three")
HERTZ = (196.0, 440.0, 1047.0, 2349.0)
APART_CENTS = {"pair": (2, 5, 12, 30), "octave": (0.3, 1, 5, 20), "three": (4, 10, 25)}
BEATS = (0.7, 1.0, 1.5, 3.0)  # as often the slowest pair of neighbours has beaten; from 1 on they must be told apart
FAINT_DB = (0, -12)  # of a pair's partner, of an octave's upper reed; of the outer two of three not
SNR_DB = (30, 20, 30, 40)  # of the rounds in turn; the limits are for 30
SWAY_CENTS, SWELL_DB = 0.15, 0.6  # of each of two waves, in a breath
SHORTEST_S, LONGEST_S = 0.25, 6.0
WITHIN_CENTS, WITHIN_HZ = 0.2, 0.05  # what every pair is held to
COVERED = (92, 99)  # percent of errors inside the stated 95 %
SEED = 5
ROUNDS = 4  # pieces of work, each of every kind of the grid
Samples = NDArray[np.float64]
Sounds = list[tuple[float, list[int]]]  # of each reed its pitch and the numbers of its own harmonics

PAGE = """# Two reeds at once

<!-- Made by `make bench` (tests/bench). Do not edit. -->

What [Pairs](../pairs.md) speaks of, as measured in one run of `make bench`. {miss}marks a figure that misses the limit
it is held to.

{pairs} takes of 196 Hz to 2.3 kHz, heard until the slowest two have beaten so often (beats: span times beat rate):
pairs 2 to 30 cents apart, octaves 0.3 to 20 cents from true, musettes whose outer reeds are 4 to 30 cents from the
middle one; a quarter of a second to six seconds long. The host's resolver works on the baseband of three harmonics;
beside it stand least squares on the raw samples of the same stretch, from starts around the truth, and Cramér and Rao's
bound of the same harmonics. *Told apart*: the right number of reeds, and a pitch of each. RMS errors are of the lowest
and of the highest reed and of the beats; *over the bound*, of all pitches against the bound of each, where 1 is as good
as can be, by the resolver and by least squares on the samples (steady, whatever the table). What is kept of a tone is
shorter by a block than what was heard, and the points of a high one may be full sooner: of tones heard for a beat or
more no less than {kept:.2f} beats were kept, and they are held to the same. Stated uncertainties leave room for a
breath.

## At {snr} dB above the noise

Held to: all told apart that have beaten once, each reed within {cents:g} cent, the beat within {hz:g} Hz.

{steady}
![RMS error of the pitches and its bound](pairs.svg)

## With a breath that sways

The same takes, pitch swaying by {sway:g} cent and level by {swell:g} dB at most, at up to a hertz. Held to the same,
and of all errors together {low} to {high} % to be inside the stated uncertainty of 95 %. The bound knows no breath.

{breathed}
## Noise

All of these that have beaten at least once, without the breath. Held to nothing but at {snr} dB.

{noise}"""


def measure(quick: bool = False) -> list[dict[str, Any]]:
    """Rows of every take of a run."""
    rounds = 1 if quick else ROUNDS
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        return [row for rows in pool.map(_round, range(rounds)) for row in rows]


def _round(number: int) -> list[dict[str, Any]]:
    """One take of every kind of the grid."""
    rng = np.random.default_rng([SEED, number])
    return [
        _row(kind, beats, faint, seconds, _sounds(kind, hz, apart), SNR_DB[number % len(SNR_DB)], rng)
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


def _row(
    kind: str, beats: float, faint: int, seconds: float, sounds: Sounds, snr_db: int, rng: np.random.Generator
) -> Any:
    t = (np.arange(int(seconds * RATE)) - seconds * RATE / 2) / RATE
    sizes = [10 ** ((faint * (n == len(sounds) - 1)) / 20 - 8 * np.log2(own) / 20) for n, (_, own) in enumerate(sounds)]
    turns = [rng.uniform(0, 2 * np.pi, len(size)) for size in sizes]
    weights = np.concatenate(
        [(size * np.array([np.cos(turn), np.sin(turn)])).T for size, turn in zip(sizes, turns, strict=True)]
    ).ravel()
    weights *= np.sqrt(2 / np.sum(weights**2))  # of power 1 together
    noise = 10 ** (-snr_db / 20)
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
        "snr": snr_db,
        "kept": beats * take.span_s / seconds,
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
    """Errors and stated uncertainties of the pitches, and the worst error of a beat; None where not told apart.

    A wrong number of reeds counts as not told apart.
    """
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
    held = [row for row in rows if row["snr"] == SNR_DB[0]]
    return PAGE.format(
        miss=tables.MISS.strip() + " ",
        pairs=f"{len(rows):,}",
        snr=SNR_DB[0],
        cents=WITHIN_CENTS,
        hz=WITHIN_HZ,
        sway=2 * SWAY_CENTS,
        swell=2 * SWELL_DB,
        kept=min(row["kept"] for row in rows if row["beats"] >= 1),
        low=COVERED[0],
        high=COVERED[1],
        steady=_table(_groups(held), "steady", "beats"),
        breathed=_table(_groups(held), "breathed", "beats"),
        noise=_table(_by_noise([row for row in rows if row["beats"] >= 1]), "steady", "noise"),
    )


def _groups(rows: Sequence[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    """The rows of each kind, number of beats and level, by their words."""
    found: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        found.setdefault(f"{row['kind']} | {row['beats']:g} | {-row['faint']} dB", []).append(row)
    order = [f"{kind} | {beats:g} | {-faint} dB" for kind in KINDS for faint in FAINT_DB for beats in BEATS]
    return {words: found[words] for words in order if words in found}


def _by_noise(rows: Sequence[dict[str, Any]]) -> dict[str, list[dict[str, Any]]]:
    chosen = {
        f"{kind} | {snr} dB | {-faint} dB": [r for r in rows if (r["kind"], r["snr"], r["faint"]) == (kind, snr, faint)]
        for kind in KINDS
        for faint in FAINT_DB
        for snr in sorted(set(SNR_DB))
    }
    return {words: group for words, group in chosen.items() if group}


def _table(groups: dict[str, list[dict[str, Any]]], key: str, by: str) -> str:
    columns = ["", by, "fainter by", "takes", "told apart", "RMS, cents: low, high"]
    columns += ["beat, Hz", "over the bound", "samples", "worst, cent", "worst beat, Hz", "inside u95"]
    lines = [f"| {' | '.join(columns)} |", f"|{len(columns) * '---|'}"]
    for words, group in groups.items():
        lines.append(f"| {words} | {_cells(group, key)} |")
    whole = _cells([row for group in groups.values() for row in group], key, key == "breathed")
    return "\n".join([*lines, f"| all | | | {whole} |"]) + "\n"


def _cells(group: Sequence[dict[str, Any]], key: str, covers: bool = False) -> str:
    """What became of these takes. `covers`: whether the stated uncertainties are held to what they claim."""
    told = [row for row in group if row[key]]
    held = [row for row in group if row["snr"] == SNR_DB[0]]
    lost = any(row["beats"] >= 1 and not row[key] for row in held)
    share = f"{100 * len(told) / len(group):.{int(len(group) > 99)}f} %{_miss(lost)}"
    if not told:
        return " | ".join([str(len(group)), share, *(7 * [""])])
    ends = np.array([[row[key]["errors"][0], row[key]["errors"][-1]] for row in told])
    errors, u95, bounds, raw = (
        np.concatenate(every)
        for every in (
            [row[key]["errors"] for row in told],
            [row[key]["u95"] for row in told],
            [row["bound"] for row in told],
            [row["raw"] for row in told],
        )
    )
    beats = np.array([row[key]["beat"] for row in told])
    inside = 100 * np.mean(np.abs(errors) < u95)
    low, high, beat = (tables.figure(float(np.sqrt(np.mean(one**2)))) for one in (ends[:, 0], ends[:, 1], beats))
    far = bool(held) and np.max(np.abs(errors)) > WITHIN_CENTS
    late = bool(held) and np.max(beats) > WITHIN_HZ
    cells = (
        f"{len(group)}",
        share,
        f"{low}, {high}",
        beat,
        f"{_over(errors, bounds):.2f}",
        f"{_over(raw, bounds):.2f}",
        f"{np.max(np.abs(errors)):.3f}{_miss(bool(far))}",
        f"{np.max(beats):.4f}{_miss(bool(late))}",
        f"{inside:.0f} %{_miss(covers and not COVERED[0] <= inside <= COVERED[1])}",
    )
    return " | ".join(cells)


def _over(errors: Samples, bounds: Samples) -> float:
    return float(np.sqrt(np.mean((errors / bounds) ** 2)))


def write(folder: Path, quick: bool) -> None:
    """Measures, and writes the page with its plot."""
    import plots  # whose drawing is only needed here

    rows = measure(quick)
    plots.pairs([row for row in rows if row["snr"] == SNR_DB[0]], KINDS, folder / "pairs.svg")
    text = "\n".join([page(rows), noticed.page(noticed.measure(quick)).lstrip()])
    (folder / "pairs.md").write_text(text, encoding="utf-8")


def _miss(missed: bool) -> str:
    return tables.MISS if missed else ""


if __name__ == "__main__":
    write(DOCS, "--quick" in sys.argv)
    print((DOCS / "pairs.md").read_text(encoding="utf-8"))
