"""The work of one run, in pieces that may run side by side; each returns plain rows."""

import os
import tempfile
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

# Peers run on one core each, as the meter does; read by numpy's libraries when they load. What librosa has numba
# compile is kept for one process only: a cache that two have written at once has crashed them.
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
_COMPILED = tempfile.TemporaryDirectory(prefix="reedbench-bench-")
os.environ["NUMBA_CACHE_DIR"] = _COMPILED.name

import impaired  # noqa: E402
import meter  # noqa: E402
import numpy as np  # noqa: E402
import peers  # noqa: E402
from signals import CENTS, RATE, off_target, reed_hz, tone  # noqa: E402

SNRS_DB = (10, 20, 30, 40)
SPANS_S = (0.25, 0.5, 1.0)
REGISTERS = {"80 to 400 Hz": (80.0, 400.0), "400 Hz to 3.2 kHz": (400.0, 3200.0)}
RANGE_HZ = (32, 36.7, 41.2, 49, 55, 61.7, 82.4, 131, 262, 523, 1047, 1568, 2093, 2637, 3136, 3520, 3600)
OUTSIDE_HZ = (22, 25, 28, 4000, 4700, 6000)


@dataclass(frozen=True)
class Stratum:
    """Tones of one kind."""

    snr_db: int
    seconds: float
    register: str


def job(task: tuple[Callable[..., Any], tuple[Any, ...]]) -> Any:
    """Does one piece of work: a function below and its arguments."""
    work_on, arguments = task
    return work_on(*arguments)


def strata() -> list[Stratum]:
    return [Stratum(snr, span, name) for name in REGISTERS for span in SPANS_S for snr in SNRS_DB]


def cents(hz: float, truth: float) -> float:
    return float(CENTS * np.log(hz / truth))


def _tones(stratum: Stratum, count: int, seed: list[int]) -> list[Any]:
    rng = np.random.default_rng(seed)
    low, high = REGISTERS[stratum.register]
    made = [tone(reed_hz(rng, low, high), stratum.seconds, stratum.snr_db, rng, weak=bool(i % 2)) for i in range(count)]
    return [(one, off_target(one.hz, rng)) for one in made]


def accuracy(stratum: Stratum, count: int, seed: list[int]) -> list[dict[str, Any]]:
    """Rows of the strata: the meter with and without an expected reed, and the bounds."""
    made = _tones(stratum, count, seed)
    samples = [one.samples for one, _ in made]
    guided = meter.measure(samples, [expected for _, expected in made])
    free = meter.measure(samples, [0.0] * count)
    rows = []
    for (one, _), found, alone in zip(made, guided, free, strict=True):
        followed = [k for k in found["used"] if k <= len(one.amplitudes)]
        below = [k for k in range(1, len(one.amplitudes) + 1) if k * one.hz < 7200]
        rows.append(
            {
                "stratum": stratum,
                "error": cents(found["uhz"] / 1e6, one.hz) if found["uhz"] else None,
                "flags": found["flags"],
                "se": found["se"],
                "bound": one.bound_cents(followed) if followed else one.bound_cents(),
                "bound_all": one.bound_cents(),
                "share": one.information(followed) / one.information(below) if followed else 0.0,
                "error_free": cents(alone["uhz"] / 1e6, one.hz) if alone["uhz"] else None,
                "flags_free": alone["flags"],
            }
        )
    return rows


def survival(name: str, count: int, seed: list[int]) -> list[dict[str, Any]]:
    """Rows of one impairment, heard by the whole chain; of several takes of a sounding the first clean one counts."""
    rng = np.random.default_rng(seed)
    cases = [impaired.case(name, rng) for _ in range(count)]
    heard = meter.listen([c.sound for c in cases], [c.expected for c in cases], [c.gaps for c in cases])
    rows = []
    onset = int(impaired.BEFORE_S * RATE)
    for one, told in zip(cases, heard, strict=True):
        takes = [take for take in told["heard"] if take["start"] + take["span"] > onset]
        clean = [take for take in takes if take["uhz"] and not take["flags"]]
        take = (clean or takes or [None])[0]
        row = {"name": name, "error": None, "flags": take["flags"] if take and take["uhz"] else [], "se": 0.0}
        row["hz"] = float(np.median(one.hz))
        row["why"] = take["flags"] if take else [told["refused"]]
        if clean:
            # From its first sample to its last: the mean of the pitch between samples.
            track = one.hz[take["start"] : take["start"] + take["span"] + 1]
            sounded = float(np.mean(track[1:] + track[:-1]) / 2)
            row.update(error=cents(take["uhz"] / 1e6, sounded), se=take["se"], span=take["span"] / RATE)
        rows.append(row)
    return rows


def reach(hz: float, seed: list[int]) -> dict[str, Any]:
    """One row of the range: a reed of this pitch heard by the whole chain, expected and unexpected."""
    rng = np.random.default_rng(seed)
    quiet = 1e-4 * rng.standard_normal((2, RATE // 2))
    sound = np.concatenate((quiet[0], tone(hz, 3.0, 40, rng).samples / 32768, quiet[1]))
    heard = meter.listen([sound, sound], [hz, 0.0], [[], []])
    found = [[take for take in told["heard"] if take["uhz"] and not take["flags"]] for told in heard]
    errors = [cents(takes[0]["uhz"] / 1e6, hz) if takes else None for takes in found]
    return {"hz": hz, "inside": hz in RANGE_HZ, "error": errors[0], "error_free": errors[1]}


def company(tones: Iterable[tuple[Stratum, int]], seed: list[int]) -> list[dict[str, Any]]:
    """Rows of the meter and each peer over the same tones."""
    peers.begin()
    rows = []
    for number, (stratum, count) in enumerate(tones):
        made = _tones(stratum, count, [*seed, number])
        guided = meter.measure([one.samples for one, _ in made], [expected for _, expected in made])
        for (one, expected), found in zip(made, guided, strict=True):
            error = cents(found["uhz"] / 1e6, one.hz) if found["uhz"] and not found["flags"] else None
            rows.append({"who": "the meter", "stratum": stratum, "error": error, "ms": found["ms"]})
            for who, estimate in peers.PEERS.items():
                begun = time.perf_counter()
                hz = estimate(one.samples / 32768, expected)
                spent = 1000 * (time.perf_counter() - begun)
                rows.append(
                    {"who": who, "stratum": stratum, "error": cents(hz, one.hz) if hz > 0 else None, "ms": spent}
                )
    return rows
