"""Whether a second reed is looked for: the quick question of meter/track.py beside the search of meter/company.py.

Every tone is searched here, whatever the quick question says of it: what it would have kept from the search is seen.
"""

import multiprocessing
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from typing import Any

import impaired
import meter
import numpy as np
import tables
from numpy.typing import NDArray
from signals import RATE, Samples, harmonics, off_target, reed_hz

TONES = {"single": 2400, "pair": 2430, "octave": 1440}
PIECE = 60  # tones in one piece of work
APART = {"pair": (2, 3, 4, 6, 8, 12, 16, 22, 30), "octave": (0.3, 0.6, 1, 2, 3, 5, 10, 20)}  # cents
BANDS = {"pair": ((2, 4), (6, 12), (16, 30)), "octave": ((0.3, 1), (2, 5), (10, 20))}  # rows of the table
FAINT_DB = (0, -6, -12)
SNR_DB = (20, 30, 40)
SPAN_HZ = {"pair": (110.0, 3500.0), "octave": (80.0, 1700.0)}
ATTACK_S, SETTLE_PERIODS, SETTLE_MOST_S = 0.1, 40, 0.55  # what meter/listen.py throws away
LOW_HZ, HIGH_S, LOW_S = 250, 0.7, 1.0  # and what it gathers
SEED = 6

SCRIPT = """
import gc, json, sys, time
from meter.company import Company
from meter.pitch import Pitch

class Gathered:
    position = 0

pitch = Pitch()
for line in sys.stdin:
    path, expected = json.loads(line)
    gathered = Gathered()
    gathered.samples = open(path, "rb").read()
    gathered.count = len(gathered.samples) // 2
    tone = pitch.measure(gathered.samples, gathered.count, expected)
    looked = noticed = two = False
    if pitch.track.oscillator_uhz:
        looked = "two-reeds" in tone.flags or "wavering" in tone.flags or not pitch.track.alone()
        company = Company(pitch)
        company.notice(tone, gathered, False)
        noticed = bool(company.tone)
        two = noticed and bool(company.end(gathered).pair)
    print(json.dumps(dict(looked=looked, noticed=noticed, two=two)))
    gc.collect()
"""

PAGE = """
## Whether a second reed is looked for

To look for a second reed costs a board 0.16 s and 9 kB, so every tone is first asked a quick question: do its lowest
odd and even harmonics move together, to 0.02 radians, and do all odd and all even ones have one pitch, to 0.05 cent
beyond their noise? Where they do, one reed sounded. Here {tones} tones were asked,
and searched whatever the answer was. *Searched*: the question lets them through. *Held, told*: a second reed is noticed
and the tone heard on, or already told apart; of single reeds both are mistakes, before the slash without the question,
behind it with it. *Lost*: noticed by the search, but not let through; held to none. Every second pair has two reeds of
the same spectrum, and noise is 20 to 40 dB below.

{table}"""


def measure(quick: bool = False) -> list[dict[str, Any]]:
    """Rows of every tone of a run."""
    tasks = [
        (kind, begun, min(PIECE, count - begun))
        for kind, every in TONES.items()
        for count in [every // 10 if quick else every]
        for begun in range(0, count, PIECE)
    ]
    with ProcessPoolExecutor(mp_context=multiprocessing.get_context("spawn")) as pool:
        return [row for rows in pool.map(_piece, tasks) for row in rows]


def _piece(task: tuple[str, int, int]) -> list[dict[str, Any]]:
    kind, begun, count = task
    rng = np.random.default_rng([SEED, list(TONES).index(kind), begun])
    make: Callable[..., Any] = _single if kind == "single" else _company
    made = [make(kind, number, rng) for number in range(begun, begun + count)]
    told = meter.run(SCRIPT, [(sound.tobytes(), [expected]) for sound, expected, _ in made])
    return [{"kind": kind, **row, **found} for (_, _, row), found in zip(made, told, strict=True)]


def _single(_: str, number: int, rng: np.random.Generator) -> tuple[NDArray[np.int16], float, dict[str, Any]]:
    """One reed, spoilt in one of the ways of impaired.py; what loses samples is left to the whole chain."""
    names = [name for name in impaired.ALL if name != "dropped block"]
    name = names[number % len(names)]
    case = impaired.case(name, rng)
    hz = float(np.median(case.hz))
    return _gathered(case.sound[int(impaired.BEFORE_S * RATE) :], hz), case.expected, {"name": name}


def _company(kind: str, number: int, rng: np.random.Generator) -> tuple[NDArray[np.int16], float, dict[str, Any]]:
    """Two reeds, or two an octave apart; every second time with the very same spectrum."""
    hz = reed_hz(rng, *SPAN_HZ[kind])
    apart = APART[kind][number % len(APART[kind])]
    faint = FAINT_DB[number // len(APART[kind]) % len(FAINT_DB)]
    other = (2 if kind == "octave" else 1) * hz * 2 ** (apart * rng.choice([-1, 1]) / 1200)
    t = np.arange(2 * RATE) / RATE
    spectrum = harmonics(max(hz, other), rng) if number % 2 else None
    sound = _reed(hz, t, spectrum, rng) + 10 ** (faint / 20) * _reed(other, t, spectrum, rng)
    sound *= 1 - np.exp(-t / 0.015)
    sound += 10 ** (-rng.choice(SNR_DB) / 20) * rng.standard_normal(len(t))
    expected = off_target(hz, rng) if rng.integers(2) else 0.0
    return _gathered(0.3 * sound / np.max(np.abs(sound)), hz), expected, {"apart": apart, "faint": faint}


def _reed(hz: float, t: Samples, spectrum: Samples | None, rng: np.random.Generator) -> Samples:
    sizes = harmonics(hz, rng) if spectrum is None else spectrum
    turns = rng.uniform(0, 2 * np.pi, len(sizes))
    sound = sum(a * np.cos(2 * np.pi * (k + 1) * hz * t + turns[k]) for k, a in enumerate(sizes))
    return np.asarray(sound / np.std(sound))


def _gathered(sound: Samples, hz: float) -> NDArray[np.int16]:
    """What the listener gathers of a sound that begins at once: whole blocks, the attack thrown away."""
    early = int(RATE * max(ATTACK_S, min(SETTLE_MOST_S, SETTLE_PERIODS / hz)))
    kept = sound[early : early + int(RATE * (LOW_S if hz < LOW_HZ else HIGH_S))]
    return np.clip(np.round(32768 * kept), -32767, 32767).astype("<i2")


def page(rows: Sequence[dict[str, Any]]) -> str:
    """The section of the page of pairs."""
    return PAGE.format(tones=f"{len(rows):,}", table=table(rows))


def table(rows: Sequence[dict[str, Any]]) -> str:
    """Of each kind of tone how many are searched, what is found, and what the question would have lost."""
    lines = ["| tones | | searched % | held % | told % | lost |", f"|{6 * '---|'}"]
    for name in dict.fromkeys(row["name"] for row in rows if row["kind"] == "single"):
        group = [row for row in rows if row.get("name") == name]
        lines.append(f"| single: {name} | {len(group)} | {_share(group, 'looked')} | {_both(group)} | |")
    singles = [row for row in rows if row["kind"] == "single"]
    lines.append(f"| single: all | {len(singles)} | {_share(singles, 'looked')} | {_both(singles)} | |")
    for kind, bands in BANDS.items():
        for low, high in bands:
            for faint in FAINT_DB:
                group = [r for r in rows if r["kind"] == kind and low <= r["apart"] <= high and r["faint"] == faint]
                lost = Counter(row["two"] for row in group if row["noticed"] and not row["looked"])
                what = f"{kind}: {low:g} to {high:g} cents, {-faint} dB"
                found = f"{_share(group, 'noticed')} | {_share(group, 'two')}"
                lines.append(
                    f"| {what} | {len(group)} | {_share(group, 'looked')} | {found} | "
                    f"{lost.total()}{tables.MISS if lost else ''} |"
                )
    return "\n".join(lines) + "\n"


def _share(group: Sequence[dict[str, Any]], key: str) -> str:
    return f"{100 * sum(row[key] for row in group) / len(group):.1f}"


def _both(group: Sequence[dict[str, Any]]) -> str:
    """Shares held and told, without the question and with it."""
    through = [{key: row[key] and row["looked"] for key in ("noticed", "two")} for row in group]
    return " | ".join(f"{_share(group, key)} / {_share(through, key)}" for key in ("noticed", "two"))
