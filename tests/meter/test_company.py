"""Two reeds, noticed and told apart by the meter's whole chain on MicroPython, and resolved by the host."""

import sys
from pathlib import Path

import numpy as np
import pytest
from reedbench.hearing import hear
from signals import tone

sys.path.insert(0, str(Path(__file__).parents[1] / "host"))
from two_reeds import cents, recording

CASES = [
    (kind, hz, apart, faint)
    for kind, hertz, aparts in (
        ("pair", (196.0, 440.0, 1047.0), (4, 12, 28)),
        ("octave", (220.0, 880.0), (1201.5, 1215, 1190)),
    )
    for hz in hertz
    for apart in aparts
    for faint in (0, -12)
]


@pytest.fixture(scope="module")
def heard(micropython_program, tmp_path_factory):
    folder = tmp_path_factory.mktemp("two")
    files = [
        recording(folder / f"{n}.wav", (hz, hz * 2 ** (apart / 1200)), (0, faint), 3.5)
        for n, (_, hz, apart, faint) in enumerate(CASES)
    ]
    return hear(files)


@pytest.mark.parametrize("number", range(len(CASES)), ids=lambda n: "-".join(map(str, CASES[n])))
def test_two_reeds_are_noticed_and_resolved(number, heard):
    kind, hz, apart, _ = CASES[number]
    (take,) = heard[number]["takes"]
    assert "two-reeds" in take["flags"]
    two = take["two"]
    assert two["kind"] == kind, two
    low, high = two["reeds"]
    assert abs(cents(low["hz"], hz)) < 0.2 and abs(cents(high["hz"], hz * 2 ** (apart / 1200))) < 0.2
    beat = abs(hz * 2 ** (apart / 1200) - (2 if kind == "octave" else 1) * hz)
    assert two["beats"][0]["hz"] == pytest.approx(beat, abs=0.05)


def test_three_reeds(micropython_program, tmp_path):
    truth = (438.0, 440.0, 442.5)
    (one,) = hear([recording(tmp_path / "musette.wav", truth, (-2, 0, -2), 3.0)])
    assert one["takes"][0]["two"]["kind"] == "three"
    for reed, hz in zip(one["takes"][0]["two"]["reeds"], truth, strict=True):
        assert abs(cents(reed["hz"], hz)) < 0.2


def test_one_reed_is_left_alone(micropython_program, tmp_path):
    files = [recording(tmp_path / f"{hz}.wav", (hz,), (0,), 2.0) for hz in (131.0, 440.0, 1760.0)]
    for one in hear(files):
        assert [(take["flags"], take["two"]) for take in one["takes"]] == [([], None)]


def test_slow_beats_need_to_be_expected(micropython_program, tmp_path):
    """A pair that beats once in four seconds: heard to its end where two reeds are said to sound."""
    path = recording(tmp_path / "slow.wav", (196.0, 196.25), (0, -6), 6.0)
    (one,) = hear([path], both=True)
    reeds = one["takes"][0]["two"]["reeds"]
    assert [round(reed["hz"], 2) for reed in reeds] == [196.0, 196.25]


CROWDED = """
import gc
from meter.ear import Ear
from meter.memory import samples
from recording import Recording

def fill():
    "Half of what is left free is taken, the rest in pieces too small for a Company."
    gc.collect()
    kept = between = None
    try:
        while True:
            kept = (kept, bytearray(1000))
            between = (between, bytearray(1000))
    except MemoryError:
        return kept

told = []
for crowded in (False, True):
    with open(values, "rb") as file:
        recording = Recording(file, [])
        ear = Ear(recording, samples)
        while not recording.over:
            if ear.step():
                kept = crowded and fill()
                tone = ear.tone()
                kept = None
                if tone:
                    told.append([tone.uhz / 1e6, tone.flags, bool(tone.band)])
                break
    told.append(["meter." + name in sys.modules for name in ("company", "pair", "baseband")])
print(json.dumps(told))
"""


def test_a_tone_is_kept_where_memory_for_company_is_lacking(micropython, tmp_path):
    """Without room the pair's baseband is not: its tone stands as it was measured, and no module stays half loaded."""
    one = tone(440.0, 2.0, 40, np.random.default_rng(3))
    (tmp_path / "one.raw").write_bytes((one.samples.astype(np.int32) << 16).astype("<i4").tobytes())
    with_room, modules, without, modules_after = micropython(CROWDED, str(tmp_path / "one.raw"), heap="600k")
    assert with_room == without == [pytest.approx(440.0, rel=1e-5), [], False]
    assert modules == modules_after == [False, False, False]
