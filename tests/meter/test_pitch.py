"""The pitch measurement on real MicroPython, against tones whose pitch is known and the Cramer-Rao bound."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from signals import CENTS, RATE, Samples, Tone, off_target, pink, reed_hz, tone

SCRIPT = """
from array import array
import gc
from meter.pitch import Pitch
pitch = Pitch()
found = []
for path, expected in values:
    gc.collect()
    samples = array("h", open(path, "rb").read())
    tone = pitch.measure(samples, len(samples), expected)
    found.append(dict(uhz=tone.uhz, se=tone.se_cents, check=tone.check_cents, drift=tone.drift_cents_s,
        used=pitch.track.used if tone.uhz else [], start=tone.start, span=tone.span, flags=tone.flags,
        level=tone.level_db, trace=tone.trace_cents[::31]))
print(json.dumps(found))
"""
Measure = Callable[..., list[dict[str, Any]]]


@pytest.fixture
def measure(micropython: Callable[..., Any], tmp_path: Path) -> Measure:
    def run(tones: Sequence[Tone], expected: Sequence[float] | None = None) -> list[dict[str, Any]]:
        listed = []
        for number, one in enumerate(tones):
            path = tmp_path / f"{number}.raw"
            path.write_bytes(one.samples.astype("<i2").tobytes())
            listed.append([str(path), expected[number] if expected else 0.0])
        return micropython(SCRIPT, listed, heap="32m")

    return run


@dataclass(frozen=True)
class Outcome:
    """Errors in cents of the tones that got a figure, and the share that did not get a clean one."""

    cents: Samples
    se: Samples
    refused: float

    @property
    def rms(self) -> float:
        return float(np.sqrt(np.mean(self.cents**2)))

    @property
    def gross(self) -> int:
        return int(np.sum(np.abs(self.cents) > 50))


def outcome(tones: Sequence[Tone], found: Sequence[dict[str, Any]]) -> Outcome:
    clean = [(t, f) for t, f in zip(tones, found, strict=True) if f["uhz"] and not f["flags"]]
    cents = np.array([CENTS * np.log(f["uhz"] / 1e6 / t.hz) for t, f in clean])
    return Outcome(cents, np.array([f["se"] for _, f in clean]), 1 - len(clean) / len(tones))


@pytest.mark.parametrize("snr_db", [10, 20, 30, 40])
@pytest.mark.parametrize("seconds", [0.25, 0.5, 1.0])
def test_near_the_bound_on_clean_tones(snr_db: float, seconds: float, measure: Measure) -> None:
    """Of what eighteen harmonics know; `make bench` has the same over thousands of tones."""
    rng = np.random.default_rng(int(snr_db * 10 + 4 * seconds))
    tones = [tone(reed_hz(rng), seconds, snr_db, rng, weak=bool(i % 2)) for i in range(60)]
    found = measure(tones, [off_target(one.hz, rng) for one in tones])
    result = outcome(tones, found)
    assert result.gross == 0 and result.refused <= 0.02
    bounds = np.array(
        [t.bound_cents(f["used"]) for t, f in zip(tones, found, strict=True) if f["uhz"] and not f["flags"]]
    )
    assert np.sqrt(np.mean((result.cents / bounds) ** 2)) < 1.4 or result.rms < 0.005
    assert np.mean(np.abs(result.cents) < 2 * result.se) > 0.85
    assert np.median(result.se) < 3 * result.rms


@pytest.mark.parametrize("prior", [True, False])
def test_from_the_lowest_reed_to_the_highest_and_no_further(prior: bool, measure: Measure) -> None:
    rng = np.random.default_rng(13)
    tones = [tone(hz, 1.0, 40, rng) for hz in (32.0, 36.7, 45.0, 55.0, 61.0, 3000.0, 3600.0)]
    outside = [tone(hz, 1.0, 40, rng) for hz in (25.0, 28.0, 4000.0, 6000.0)]
    found = measure(tones + outside, [one.hz for one in tones + outside] if prior else None)
    inside = outcome(tones, found[: len(tones)])
    assert inside.refused == 0 and inside.rms < 0.01
    assert all(one["uhz"] == 0 for one in found[len(tones) :])


@pytest.mark.parametrize("level", [2.0, 127 / 32768])
def test_overdriven_or_faint_it_is_the_same_pitch(level: float, measure: Measure) -> None:
    rng = np.random.default_rng(14)
    tones = [tone(reed_hz(rng), 0.7, 40, rng, level=level) for _ in range(20)]
    result = outcome(tones, measure(tones, [one.hz for one in tones]))
    assert result.refused <= 0.1 and result.rms < 0.01


@pytest.mark.parametrize("width", [0.06, 0.12, 0.3])
def test_a_short_dip_is_never_averaged_in(width: float, measure: Measure) -> None:
    rng = np.random.default_rng(15)
    t = np.arange(RATE) / RATE
    tones = []
    for _ in range(12):
        inside = (t - rng.uniform(0.3, 0.7)) / width
        cents = -20 * (np.abs(inside) < 0.5) * np.cos(np.pi * inside) ** 2
        tones.append(tone(reed_hz(rng, 150, 2000), 1.0, 40, rng, cents=cents))
    result = outcome(tones, measure(tones, [one.hz for one in tones]))
    assert len(result.cents) == 0 or np.max(np.abs(result.cents)) < 0.15


def test_without_an_expected_reed(measure: Measure) -> None:
    rng = np.random.default_rng(3)
    tones = [tone(reed_hz(rng), 0.6, 40, rng, weak=bool(i % 2)) for i in range(120)]
    result = outcome(tones, measure(tones))
    assert result.gross == 0 and result.refused <= 0.05 and result.rms < 0.01


def test_a_reed_an_octave_or_a_twelfth_from_the_expected_one_is_heard_as_itself(measure: Measure) -> None:
    rng = np.random.default_rng(4)
    tones = [tone(reed_hz(rng, 260, 1000), 0.6, 40, rng) for _ in range(24)]
    wrong = [one.hz * ratio for one, ratio in zip(tones, [1 / 2, 1 / 3, 2, 3] * 6, strict=True)]
    result = outcome(tones, measure(tones, wrong))
    assert result.gross == 0 and result.refused == 0 and result.rms < 0.01


def test_the_upper_of_two_banks_is_not_named_while_the_lower_has_not_settled(measure: Measure) -> None:
    rng = np.random.default_rng(16)
    tones = []
    for _ in range(12):
        hz = reed_hz(rng, 70, 240)
        t = np.arange(RATE) / RATE
        cents = np.interp(t, np.arange(0, 1.01, 0.01), rng.uniform(-400, 400, 101))
        lower, upper = np.cumsum(hz * 2 ** (cents / 1200)) / RATE, hz * 2 ** (3 / 1200) * t
        sound = 30 * rng.standard_normal(RATE)
        for k in range(1, int(7000 / hz)):
            turns, amplitude = (lower, 1800) if k % 2 else (upper, 6000)
            sound += amplitude / k * np.cos(2 * np.pi * (k * turns + rng.uniform()))
        tones.append(Tone(np.round(sound * 16000 / np.max(np.abs(sound))).astype(np.int16), hz))
    for one, found in zip(tones, measure(tones, [one.hz for one in tones]), strict=True):
        assert found["uhz"] == 0 or found["flags"], f"{one.hz:.1f} Hz"


@pytest.mark.parametrize("name", ["drift", "tremor", "hum", "pink", "leak"])
def test_impairments_that_a_reading_survives(name: str, measure: Measure) -> None:
    rng = np.random.default_rng(sum(map(ord, name)))
    tones = []
    seconds = 0.8
    t = np.arange(int(seconds * RATE)) / RATE
    for _ in range(40):
        hz = reed_hz(rng, 130, 2400)
        cents, beside = None, None
        if name == "drift":
            cents = rng.choice([-2.0, 2.0]) * (t - seconds / 2)
        elif name == "tremor":
            cents = 0.5 * np.sin(2 * np.pi * 5 * t + rng.uniform(0, 6))
        elif name == "hum":
            beside = 0.014 * np.cos(2 * np.pi * 50 * t) + 0.005 * np.cos(2 * np.pi * 150 * t)
        elif name == "pink":
            beside = 10 ** (-30 / 20) * pink(len(t), rng)
        else:
            near = hz * 2 ** (rng.choice([-1, 1]) / 12)
            beside = np.sqrt(2) * 10 ** (-30 / 20) * np.cos(2 * np.pi * near * t)
        tones.append(tone(hz, seconds, 40, rng, cents=cents, beside=beside))
    result = outcome(tones, measure(tones, [off_target(one.hz, rng) for one in tones]))
    assert result.gross == 0 and result.refused <= 0.1
    assert result.rms < 0.1


def test_drift_level_and_trace_are_told(measure: Measure) -> None:
    rng = np.random.default_rng(6)
    seconds, drift = 1.0, 3.0
    t = np.arange(int(seconds * RATE)) / RATE
    one = tone(440.0, seconds, 50, rng, cents=drift * (t - 0.5), level=0.5)
    (found,) = measure([one], [440.0])
    assert found["drift"] == pytest.approx(drift, abs=0.05)
    assert found["trace"][-1] - found["trace"][0] == pytest.approx(drift * found["span"] / RATE * 31 / 32, abs=0.3)
    # Level of the harmonics followed, from a full-scale square wave; the tone is all there is.
    assert found["level"] == pytest.approx(10 * np.log10(np.mean((one.samples / 32768.0) ** 2)), abs=0.3)


@pytest.mark.parametrize(
    "points",
    [
        [(0, 0), (0.3, 0), (0.5, -20), (0.7, 0), (1, 0)],
        [(0, 0), (0.5, 0), (1, -30)],
        [(0, -15), (0.25, 10), (0.5, -12), (0.75, 14), (1, -10)],
    ],
)
def test_a_breath_that_bends_the_pitch_gets_a_reason_and_no_figure(
    points: list[tuple[float, float]], measure: Measure
) -> None:
    rng = np.random.default_rng(8)
    t = np.arange(RATE) / RATE
    cents = np.interp(t, [p[0] for p in points], [p[1] for p in points])
    tones = [tone(hz, 1.0, 40, rng, cents=cents) for hz in (150.0, 440.0, 1500.0)]
    for found in measure(tones, [one.hz for one in tones]):
        assert found["uhz"] == 0 and found["flags"] in (["pulled"], ["unsteady"])


def test_a_flat_start_is_cut_off_and_the_rest_measured(measure: Measure) -> None:
    rng = np.random.default_rng(9)
    t = np.arange(RATE) / RATE
    cents = -40 * np.exp(-t / 0.06)
    tones = [tone(hz, 1.0, 40, rng, cents=cents) for hz in (200.0, 440.0, 1200.0)]
    for one, found in zip(tones, measure(tones, [one.hz for one in tones]), strict=True):
        assert found["flags"] == [] and found["start"] > 0.1 * RATE
        sounded = one.hz * 2 ** (np.mean(cents[found["start"] : found["start"] + found["span"]]) / 1200)
        assert CENTS * np.log(found["uhz"] / 1e6 / sounded) == pytest.approx(0, abs=0.05)


def test_two_reeds_are_not_taken_for_one(measure: Measure) -> None:
    rng = np.random.default_rng(10)
    tones = []
    for hz in (220.0, 440.0, 880.0):
        second = tone(hz * 2 ** (12 / 1200), 1.0, 60, rng, level=1.0).samples / 32768.0
        tones.append(tone(hz, 1.0, 60, rng, beside=second / np.std(second) * 0.5))
    for found in measure(tones, [one.hz for one in tones]):
        assert found["flags"], "a pair that beats is flagged"


@pytest.mark.parametrize("kind", ["silence", "constant", "noise", "click", "full scale noise"])
def test_what_is_no_tone_gets_no_figure(kind: str, measure: Measure) -> None:
    rng = np.random.default_rng(11)
    samples = np.zeros(RATE, np.int16)
    if kind == "constant":
        samples[:] = 32767
    elif kind == "noise":
        samples = (1000 * rng.standard_normal(RATE)).astype(np.int16)
    elif kind == "click":
        samples[8000] = 32767
    elif kind == "full scale noise":
        samples = rng.choice(np.array([-32768, 32767], np.int16), RATE)
    (found,) = measure([Tone(samples, 440.0)], [440.0])
    assert found["uhz"] == 0 or found["flags"]


@pytest.mark.exhaustive
@pytest.mark.timeout(900)
@pytest.mark.parametrize("prior", [True, False])
def test_no_gross_error_in_thousands_of_tones(prior: bool, measure: Measure) -> None:
    rng = np.random.default_rng(12)
    gross, heard, count = 0, 0, 0
    for _ in range(20):
        tones = [
            tone(reed_hz(rng), rng.choice([0.6, 1.0]), rng.choice([15, 20, 30, 40]), rng, weak=bool(i % 2))
            for i in range(250)
        ]
        result = outcome(tones, measure(tones, [off_target(one.hz, rng) for one in tones] if prior else None))
        gross += result.gross
        heard += len(result.cents)
        count += len(tones)
    assert heard > 0.95 * count
    assert gross == 0 if prior else gross <= 0.001 * count
