"""A check of an instrument whose reeds sound in pairs: what both say together, in the whole firmware."""

import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from reedbench.desk.audio import to_words
from reedbench.instrument import Instrument

sys.path.insert(0, str(Path(__file__).parents[1] / "host"))
from two_reeds import RATE, sound

TREMOLO_24 = 9  # place in the meter's list of kinds
LAWFUL = 0.02  # cents: the board's sums are of single precision, and so are the desk's here
HEARD = 0.3  # cents: each of two reeds as the meter itself hears them, its own rounding in it
BEAT_HZ = 0.06

# Each step is [words of the microphone, a key, or [Hz, pair or None, flags]]; told after each: the words on the screen.
SCRIPT = """
from meter.ear import Ear
from meter.memory import samples
from meter.pitch import Tone
from recording import Recording
import pocket

class Pair:
    octave = False

    def __init__(self, low_hz, high_hz):
        self.low_hz, self.high_hz, self.beat_hz = low_hz, high_hz, high_hz - low_hz

def made(hz, pair, flags):
    tone = Tone()
    tone.hz, tone.uhz, tone.flags = hz, int(hz * 1e6), list(flags)
    tone.se_cents, tone.span, tone.level_db = 0.05, 8000, -20.0
    tone.pair = Pair(*pair) if pair else None
    return tone

def heard(path):
    with open(path, "rb") as file:
        recording = Recording(file, [])
        ear = Ear(recording, samples)
        ear.both = meter.mode.both()
        while not recording.over:
            if ear.step(meter.mode.expected_hz()):
                tone = ear.tone(meter.mode.expected_hz())
                if tone is not None:
                    return tone

meter = pocket.boot(values["root"])
for key in ("down", "down", "do") + ("down",) * values["kind"] + ("do", "do"):
    pocket.tap(meter, key)
told, both = [pocket.words(meter)], []
for step in values["steps"]:
    both.append(meter.mode.both())
    if isinstance(step, list):
        pocket.play(meter, made(*step))
    elif step in ("up", "down", "do"):
        pocket.tap(meter, step)
    else:
        pocket.play(meter, heard(step))
    told.append(pocket.words(meter))
print(json.dumps([told, both]))
"""
Checked = Callable[..., Any]


@pytest.fixture
def checked(micropython: Callable[..., Any], tmp_path: Path) -> Checked:
    return lambda *steps, kind=TREMOLO_24: micropython(
        SCRIPT, {"steps": steps, "kind": kind, "root": str(tmp_path)}, heap="16m"
    )


def instrument(layout: str, key: str, reference_hz: float = 440.0) -> Instrument:
    """One without an order of its own, but for the reference."""
    document = {"reedbench": "instrument", "version": 1, "key_id": "00000000000000aa", "name": "t", "layout": layout}
    order = {"reference_hz": reference_hz, "temperament": "equal", "drop_cents": 0.0, "tolerance_cents": 3.0}
    return Instrument.from_dict({**document, "key": key, "order": order})


def targets(hole: int) -> tuple[float, float]:
    """The base reed's and the other's, of a tremolo harmonica in C, in hertz."""
    low, high = [reed.target_hz for reed in instrument("tremolo-24", "C").reeds if reed.place == str(hole)]
    return low, high


def raised(hz: float, cents: float) -> float:
    return float(hz * 2 ** (cents / 1200))


@pytest.mark.parametrize("layout", ["tremolo-21", "tremolo-24"])
@pytest.mark.parametrize("key", ["C", "A", "F#"])
def test_targets_are_those_of_the_host(micropython: Callable[..., Any], layout: str, key: str) -> None:
    """The same reeds, numbers, places and pitches as an instrument file without an order of its own says."""
    told = micropython(
        """
from meter.builtin import made
from meter.kinds import KEYS, KINDS

class Settings:
    reference_mhz, tolerance_cc = 441500, 300

[kind] = [i for i, one in enumerate(KINDS) if one[0] == values[0]]
[key] = [i for i, one in enumerate(KEYS) if one[0] == values[1]]
reeds = made(kind, key, Settings)
print(json.dumps([[reeds.ordinal(i), reeds.place(i), reeds.breath(i), reeds.member(i), reeds.target_uhz(i)]
                  for i in range(len(reeds))]))
""",
        [layout, key],
    )
    reeds = instrument(layout, key, 441.5).reeds
    assert len(told) == len(reeds)
    for (ordinal, place, breath, member, uhz), reed in zip(told, reeds, strict=True):
        assert (ordinal, place, breath, member) == (reed.ordinal, reed.place, reed.breath, reed.member)
        assert abs(1200 * math.log2(uhz / 1e6 / reed.target_hz)) < LAWFUL


def test_a_pair_is_judged_by_both_its_reeds_and_ticks_off_both(checked: Checked) -> None:
    (first, second), (low, high) = targets(1), targets(2)
    told, both = checked(
        [first, [raised(first, 1.0), raised(second, -0.5)], ["two-reeds"]],
        [low, [raised(low, 1.0), raised(high, 8.0)], ["two-reeds"]],
        "do",
    )
    assert both[0] and "0/48" in told[0]
    assert {"Hole 1", "blow", "+1.0", "good", "2/48"} <= set(told[1]) and "base" not in told[1]
    wanted = second - first
    beat = raised(second, -0.5) - raised(first, 1.0)
    assert f"beats {beat:.1f}, wanted {wanted:.1f}" in told[1]
    assert {"Hole 2", "draw", "+1.0", "off", "4/48"} <= set(told[2]), "the base is good, its partner is not"
    assert told[3][:1] == ["1 off, 0 moved"] and told[3][2:4] == ["2 draw high", "+8.0"]


def test_what_two_say_together_is_told_of_neither(checked: Checked) -> None:
    """Two that were not told apart: too short for a beat, perhaps."""
    low, high = targets(1)
    told, _ = checked([(low + high) / 2, None, ["two-reeds"]], [low, None, []])
    assert {"no figure", "too short, hold longer", "0/48"} <= set(told[1])
    assert {"Hole 1", "blow", "base", "0.0", "good", "1/48"} <= set(told[2]), "one alone, its partner muted"


def test_where_no_reed_has_a_partner_nothing_is_other_than_before(checked: Checked) -> None:
    told, both = checked([261.6256, None, ["two-reeds"]], kind=2)
    assert both == [False] and {"Hole 1", "blow", "0.0", "1/20"} <= set(told[1])


@pytest.mark.parametrize("hole", [3, 9, 15])
def test_a_pair_that_sounds_is_heard_as_one(checked: Checked, tmp_path: Path, hole: int) -> None:
    """Sound of two reeds, through the meter's own ear and into the check."""
    low, high = (raised(hz, cents) for hz, cents in zip(targets(hole), (-2.4, 4.5), strict=True))
    rng = np.random.default_rng(hole)
    tone = 0.06 * sound(rng, (low, high), (0, -3), 2.5)
    fade = np.minimum(1, np.arange(len(tone)) / 200)
    quiet = 1e-4 * rng.standard_normal((2, RATE // 2))
    path = tmp_path / "pair.raw"
    to_words(np.concatenate((quiet[0], tone * fade * fade[::-1], quiet[1]))).astype("<i4").tofile(path)
    [_, told], _ = checked(str(path))
    assert {f"Hole {hole}", "blow", "2/48"} <= set(told)
    (figure,) = [float(word) for word in told if word.startswith(("-", "+"))]
    assert abs(figure + 2.4) < HEARD
    (beats,) = [word for word in told if word.startswith("beats")]
    assert abs(float(beats.split()[1].rstrip(",")) - (high - low)) < BEAT_HZ + 0.05, "told to a tenth"
    assert "off" in told, "4.5 cents is too much"
