"""`reedbench hear` over every usual kind of WAV file, and over files that are none."""

import json
import math
import struct
import subprocess
import wave
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from finished import Demo
from numpy.typing import NDArray
from scipy.io import wavfile

# A well-formed WAV file, 16 bits at 16 kHz, without a single sample.
EMPTY = b"RIFF$\0\0\0WAVEfmt \x10\0\0\0" + struct.pack("<HHIIHH", 1, 1, 16000, 32000, 2, 16) + b"data\0\0\0\0"

Run = Callable[..., subprocess.CompletedProcess[str]]


def reed(hz: float, rate: int, seconds: float = 1.3) -> NDArray[np.float64]:
    """A reed-like tone between two quiet stretches, full scale 1."""
    rng = np.random.default_rng(5)
    t = np.arange(int(seconds * rate)) / rate
    tone = sum(
        10 ** (-0.3 * k) * np.cos(2 * np.pi * (k + 1) * hz * t + k) for k in range(6) if (k + 1) * hz < rate * 0.45
    )
    tone = tone * (1 - np.exp(-t / 0.015)) * 0.2
    quiet = np.zeros(int(0.3 * rate))
    sound = np.concatenate((quiet, tone, quiet))
    return sound + 1e-4 * rng.standard_normal(len(sound))


def heard(done: subprocess.CompletedProcess[str]) -> list[dict]:
    assert done.returncode == 0, done.stderr
    return json.loads(done.stdout)


@pytest.mark.parametrize("rate", [8000, 11025, 16000, 22050, 32000, 44100, 48000, 96000, 192000])
def test_every_usual_sample_rate(rate: int, reedbench: Run, micropython_program: str, tmp_path: Path) -> None:
    path = tmp_path / "reed.wav"
    wavfile.write(path, rate, (reed(441.0, rate) * 32767).astype(np.int16))
    (one,) = heard(reedbench("hear", "--json", path))
    assert one["file"] == str(path)
    (take,) = one["takes"]
    assert take["hz"] == pytest.approx(441.0, rel=0.02 / 1731), "within 0.02 cent"
    assert (take["note"], take["flags"]) == ("A4", [])
    # A4 = 440 Hz (ISO 16:1975); a cent is the 1200th part of an octave.
    assert take["cents"] == pytest.approx(1200 * math.log2(441 / 440), abs=0.03)
    assert 0.35 < take["start_s"] < 0.7 and 0.45 < take["span_s"] <= 0.8


@pytest.mark.parametrize("kind", ["uint8", "int16", "int24", "int32", "float32", "float64", "stereo"])
def test_every_usual_sample_format(kind: str, reedbench: Run, micropython_program: str, tmp_path: Path) -> None:
    path = tmp_path / "reed.wav"
    sound = reed(587.0, 44100)
    if kind == "int24":
        counts = (sound * (2**23 - 1)).astype(np.int32)
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 3, 44100, 0, "NONE", ""))
            file.writeframes(b"".join(struct.pack("<i", count)[:3] for count in counts.tolist()))
    elif kind == "uint8":
        wavfile.write(path, 44100, (sound * 127 + 128).astype(np.uint8))
    elif kind == "stereo":
        wavfile.write(path, 44100, (np.column_stack((sound, sound)) * 32767).astype(np.int16))
    elif kind.startswith("int"):
        wavfile.write(path, 44100, (sound * np.iinfo(kind).max).astype(kind))
    else:
        wavfile.write(path, 44100, sound.astype(kind))
    ((take,),) = [one["takes"] for one in heard(reedbench("hear", "--json", path))]
    assert take["hz"] == pytest.approx(587.0, rel=0.1 / 1731 if kind == "uint8" else 0.02 / 1731)


def test_several_files_in_order_and_silence(reedbench: Run, micropython_program: str, tmp_path: Path) -> None:
    paths = [tmp_path / f"{name}.wav" for name in ("low", "silent", "high")]
    for path, sound in zip(paths, (reed(131.0, 16000, 1.6), np.zeros(16000), reed(2300.0, 16000)), strict=True):
        wavfile.write(path, 16000, (sound * 32767).astype(np.int16))
    low, silent, high = heard(reedbench("hear", "--json", *paths))
    assert [one["file"] for one in (low, silent, high)] == [str(path) for path in paths]
    assert silent["takes"] == []
    assert low["takes"][0]["hz"] == pytest.approx(131.0, rel=0.05 / 1731)
    assert high["takes"][0]["hz"] == pytest.approx(2300.0, rel=0.02 / 1731)


def test_the_expected_reed_is_heard_with_a_weak_fundamental(
    reedbench: Run, micropython_program: str, tmp_path: Path
) -> None:
    rate = 16000
    t = np.arange(int(1.2 * rate)) / rate
    tone = 0.02 * np.cos(2 * np.pi * 440 * t) + 0.2 * np.cos(2 * np.pi * 880 * t) + 0.05 * np.cos(2 * np.pi * 1320 * t)
    path = tmp_path / "weak.wav"
    wavfile.write(path, rate, (tone * 32767).astype(np.int16))
    ((take,),) = [one["takes"] for one in heard(reedbench("hear", "--json", "--expect", "A4", path))]
    assert take["hz"] == pytest.approx(440.0, rel=0.02 / 1731) and take["flags"] == []


def test_kept_audio_of_the_demo_gives_the_same_takes(demo: Demo, reedbench: Run) -> None:
    takes = [take for _, take in demo.trusted()][::8]
    files = [demo.folder / "takes" / take["file"] for take in takes]
    for take, one in zip(takes, heard(reedbench("hear", "--json", *files)), strict=True):
        assert one["takes"][0]["hz"] == pytest.approx(take["hz"], rel=0.05 / 1731)


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "not a WAV file"),
        (b"RIFF", "not a WAV file"),
        (b"hello, this is no sound" * 10, "not a WAV file"),
        (b"RIFF\xff\xff\xff\xffWAVEfmt ", "not a WAV file"),
        (EMPTY, "no sound in it"),
    ],
)
def test_what_is_no_recording_is_refused_in_one_line(content: bytes, says: str, reedbench: Run, tmp_path: Path) -> None:
    path = tmp_path / "x.wav"
    path.write_bytes(content)
    done = reedbench("hear", path)
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (2, "", 1)
    assert says in done.stderr and "Traceback" not in done.stderr


def test_refusals_name_the_file_and_the_cure(reedbench: Run, tmp_path: Path) -> None:
    missing = reedbench("hear", tmp_path / "nowhere.wav")
    assert (missing.returncode, missing.stderr.count("\n")) == (2, 1) and "nowhere.wav" in missing.stderr
    slow = tmp_path / "slow.wav"
    wavfile.write(slow, 4000, np.zeros(4000, np.int16))
    assert "4000 samples per second" in reedbench("hear", slow).stderr
    bad = tmp_path / "nan.wav"
    wavfile.write(bad, 16000, np.full(1000, np.nan, np.float32))
    assert "not numbers" in reedbench("hear", bad).stderr
    assert "middle C is C4" in reedbench("hear", "--expect", "H4", slow).stderr
