"""Two reeds, noticed and told apart by the meter's whole chain on MicroPython, and resolved by the host."""

import sys
from pathlib import Path

import numpy as np
import pytest
from reedbench.hearing import hear
from signals import tone

sys.path.insert(0, str(Path(__file__).parents[1] / "host"))
from two_reeds import cents, recording, sound

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


def test_an_octave_nearly_in_tune_is_noticed(micropython_program, tmp_path):
    """Half a cent, the upper one 12 dB fainter: it bends nothing in a second, but even and odd harmonics part."""
    pairs = [(262.0, 0.6), (440.0, 0.4)]
    truth = [(hz, 2 * hz * 2 ** (apart / 1200)) for hz, apart in pairs]
    files = [recording(tmp_path / f"{hertz[0]}.wav", hertz, (0, -12), 4.0) for hertz in truth]
    for hertz, one in zip(truth, hear(files), strict=True):
        (take,) = one["takes"]
        assert (take["flags"], take["two"]["kind"]) == (["two-reeds"], "octave")
        assert max(abs(cents(reed["hz"], hz)) for reed, hz in zip(take["two"]["reeds"], hertz, strict=True)) < 0.2


def test_a_pair_that_has_hardly_beaten_is_no_reed_alone(micropython_program, tmp_path):
    """A third of a beat: the one figure is of neither reed, and says so; the host says how long a beat takes."""
    pairs = [((268.0, 268.35), 0, 1.0), ((319.0, 319.5), -6, 0.9)]
    files = [recording(tmp_path / f"{hertz[0]}.wav", hertz, (0, faint), seconds) for hertz, faint, seconds in pairs]
    for (hertz, _, _), one in zip(pairs, hear(files), strict=True):
        (take,) = one["takes"]
        assert take["flags"] == ["two-reeds"] and take["two"]["reeds"] == []
        assert take["two"]["wanted_s"] == pytest.approx(1 / (hertz[1] - hertz[0]), rel=0.15)


@pytest.mark.parametrize("seconds", [1.6, 2.4])
def test_reeds_that_never_settle_are_told_all_the_same(seconds, micropython_program, tmp_path):
    """A pair of pairs that breathes at half a hertz: no stretch of it is steady."""
    hertz = (523.0, 523.46, 527.85, 528.31)
    (one,) = hear([recording(tmp_path / "breathing.wav", hertz, (0, -6, -2, -8), seconds, seed=2)])
    ((take,), refused) = one["takes"], one["refused"]
    assert (take["flags"], take["two"]["kind"], refused) == (["two-reeds"], "three", [])
    for hz in hertz[::2]:
        assert min(abs(cents(reed["hz"], hz)) for reed in take["two"]["reeds"]) < 0.3


def test_who_is_given_no_figure_is_told_how_long_to_hold(micropython_program, tmp_path):
    """A pair whose louder reed is two itself, a quarter of a hertz apart: they would take four seconds."""
    path = recording(tmp_path / "slow.wav", (523.0, 523.25, 527.85, 528.1), (0, -6, -2, -8), 1.6, seed=2)
    (one,) = hear([path])
    ((refused,), takes) = one["refused"], one["takes"]
    assert (takes, refused["why"], refused["two"]["reeds"]) == ([], "two-reeds", [])
    assert refused["two"]["wanted_s"] == pytest.approx(4.0, rel=0.2) and "hold them for 4" in refused["two"]["remark"]


CROWDED = """
import gc
from meter import ear
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

made = []
company = ear._company

def counted(pitch):
    made.append(1)
    return company(pitch)

ear._company = counted
told = []
for crowded in (False, True):
    with open(values, "rb") as file:
        recording = Recording(file, [])
        one = ear.Ear(recording, samples)
        while not recording.over:
            if one.step():
                kept = crowded and fill()
                tone = one.tone()
                kept = None
                if tone:
                    told.append([tone.uhz / 1e6, tone.flags, bool(tone.band), len(made)])
                    break
    told.append(["meter." + name in sys.modules for name in ("company", "pair", "baseband")])
print(json.dumps(told))
"""


def raw(samples, path):
    path.write_bytes((samples.astype(np.int32) << 16).astype("<i4").tobytes())
    return str(path)


def test_a_tone_is_kept_where_memory_for_company_is_lacking(micropython, tmp_path):
    """Without room the pair's baseband is not: its tone stands as it was measured, and no module stays half loaded."""
    rng = np.random.default_rng(3)
    loud, soft = tone(440.0, 2.0, 60, rng).samples, tone(443.0, 2.0, 60, rng).samples
    path = raw(np.concatenate((loud // 2 + soft // 8, rng.integers(-3, 3, 8000))), tmp_path / "two.raw")
    with_room, modules, without, modules_after = micropython(CROWDED, path, heap="600k")
    assert with_room[1:] == [["two-reeds"], True, 1]
    assert without[1:] == [["pulled"], False, 2]
    assert modules == modules_after == [False, False, False]


UNSETTLED = """
from meter.ear import Ear
from meter.memory import samples
from recording import Recording

class Early:
    uhz, flags = 0, ["unsteady"]

with open(values, "rb") as file:
    one = Ear(Recording(file, []), samples)
    tone = None
    while not tone:
        if one.step():
            one._unsettled = Early  # the tone had not settled when it was measured first
            tone = one.tone()
print(json.dumps([tone.flags, bool(tone.band)]))
"""


def test_two_reeds_found_at_the_second_try_are_kept(micropython, tmp_path):
    """Beating as they do they have no figure either, but are what there is to know of the sounding."""
    rng = np.random.default_rng(3)
    loud, soft = tone(440.0, 2.0, 60, rng).samples, tone(443.0, 2.0, 60, rng).samples
    path = raw(np.concatenate((loud // 2 + soft // 8, rng.integers(-3, 3, 8000))), tmp_path / "two.raw")
    assert micropython(UNSETTLED, path, heap="600k") == [["two-reeds"], True]


SLOW = """
from meter.ear import Ear
from meter.memory import samples
from meter.survey import Survey
from recording import Recording

told = []
for path in values:
    with open(path, "rb") as file:
        one = Ear(Recording(file, []), samples)
        one.both = True
        tone = None
        while not tone:
            tone = one.step() and one.tone()
        told.append([tone.flags, Survey._pair(None, tone, 0)])
print(json.dumps(told))
"""


def test_the_meter_knows_how_long_a_beat_takes_before_there_was_one(micropython, tmp_path):
    """0.4 beats in the tone give its rate; of a tenth nobody knows."""
    paths = []
    for beats_hz in (0.42, 0.1):
        rng = np.random.default_rng(round(100 * beats_hz))
        samples = np.concatenate(
            (9000 * sound(rng, (440.0, 440.0 + beats_hz), (0, -3), 1.2), rng.integers(-3, 3, 8000))
        )
        paths.append(raw(samples, tmp_path / f"{beats_hz}.raw"))
    (flags, pair), (_, unknown) = micropython(SLOW, paths, heap="600k")
    assert flags == ["two-reeds"] and pair == [pytest.approx(0.42, rel=0.1)]
    assert not unknown


def test_who_is_clearly_alone_is_not_looked_at(micropython, tmp_path):
    """Neither is what looks for a second reed loaded, nor asked; a breath that sways moves all harmonics alike."""
    t = np.arange(2 * 16000) / 16000
    wave = np.sin(2 * np.pi * 0.45 * t)
    one = tone(440.0, 2.0, 40, np.random.default_rng(3), cents=1.5 * wave, envelope=10 ** (1.5 * wave / 20))
    heard = micropython(CROWDED, raw(one.samples, tmp_path / "one.raw"), heap="600k")
    assert [found[1:] for found in heard[::2]] == [[[], False, 0]] * 2
