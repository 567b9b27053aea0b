"""WAV files whose heads lie: bounded memory, bounded time, one line; and sound resampled in blocks as in one piece."""

import math
import os
import struct
import subprocess
import sys
import time

import numpy as np
import pytest
from reedbench.desk import wav
from reedbench.desk.audio import RATE, read_words, resampled
from reedbench.errors import BadInput
from scipy.signal import firwin, resample_poly

HUGE = 0xFFFFFFFF


def fmt(code=1, channels=1, rate=16000, bits=16, frame=None, more=b""):
    frame = channels * bits // 8 if frame is None else frame
    body = struct.pack("<HHIIHH", code, channels, rate, rate * frame & HUGE, frame, bits) + more
    return b"fmt " + struct.pack("<I", len(body)) + body


def chunk(name, body, size=None):
    return name + struct.pack("<I", len(body) if size is None else size) + body


def riff(*chunks, magic=b"RIFF", size=None):
    body = b"WAVE" + b"".join(chunks)
    return magic + struct.pack("<I", len(body) if size is None else size) + body


SOUND = np.round(3000 * np.sin(np.arange(4000) / 7)).astype("<i2").tobytes()


def written(tmp_path, data):
    path = tmp_path / "x.wav"
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (riff(fmt(), chunk(b"data", b"", HUGE)), "no sound in it"),
        (riff(fmt(), chunk(b"data", b"\0", HUGE)), "no sound in it"),
        (riff(fmt(rate=0), chunk(b"data", SOUND)), "0 samples per second"),
        (riff(fmt(rate=HUGE), chunk(b"data", SOUND)), "4294967295 samples per second"),
        (riff(fmt(rate=7999), chunk(b"data", SOUND)), "7999 samples per second"),
        (riff(fmt(rate=44101), chunk(b"data", SOUND)), "no usual rate"),
        (riff(fmt(channels=0), chunk(b"data", SOUND)), "0 channels"),
        (riff(fmt(channels=65535, frame=2), chunk(b"data", SOUND)), "65535 channels"),
        (riff(fmt(bits=0), chunk(b"data", SOUND)), "format 1 with 0 bits"),
        (riff(fmt(bits=12, frame=2), chunk(b"data", b"")), "no sound"),
        (riff(fmt(bits=64), chunk(b"data", SOUND)), "format 1 with 64 bits"),
        (riff(fmt(frame=0), chunk(b"data", SOUND)), "format 1"),
        (riff(fmt(frame=3, channels=2), chunk(b"data", SOUND)), "format 1"),
        (riff(fmt(code=3, bits=16), chunk(b"data", SOUND)), "format 3 with 16 bits"),
        (riff(fmt(code=6, bits=8), chunk(b"data", SOUND)), "format 6 with 8 bits"),
        (riff(fmt(code=0x55), chunk(b"data", SOUND)), "format 85"),
        (riff(chunk(b"data", SOUND), fmt()), "sound comes before its format"),
        (riff(chunk(b"fmt ", b"\1\0")), "its format is cut off"),
        (riff(chunk(b"fmt ", b"\1\0", HUGE)), "its format is cut off"),
        (riff(chunk(b"junk", b"", HUGE), fmt(), chunk(b"data", SOUND)), "it ends before its sound begins"),
        (riff(*[chunk(b"junk", b"")] * 2000), "more than 1000 parts"),
        (riff(fmt()), "it ends before its sound begins"),
        (riff(fmt(), magic=b"RIFX"), "does not begin as one"),
        (riff(fmt(code=3, bits=32), chunk(b"data", struct.pack("<4f", 0, math.inf, 0, 0))), "not numbers"),
        (riff(fmt(code=3, bits=64), chunk(b"data", struct.pack("<2d", 0, math.nan))), "not numbers"),
        (
            riff(fmt(code=0xFFFE, bits=16, more=b"\x16\0\x10\0\0\0\0\0\2\0" + b"\0" * 14), chunk(b"data", SOUND)),
            "format 2",
        ),
    ],
)
def test_a_head_that_lies_is_one_line_soon(tmp_path, data, says):
    began = time.monotonic()
    with pytest.raises(BadInput, match=says) as caught:
        read_words(written(tmp_path, data))
    assert "\n" not in str(caught.value) and time.monotonic() - began < 1


@pytest.mark.parametrize(
    "data",
    [
        riff(fmt(), chunk(b"data", SOUND)),
        riff(fmt(), chunk(b"data", SOUND), size=HUGE),
        riff(fmt(), chunk(b"data", SOUND), size=0),
        riff(fmt(), chunk(b"data", SOUND, HUGE)),
        riff(chunk(b"ds64", b"\0" * 28), fmt(), chunk(b"data", SOUND, HUGE), magic=b"RF64", size=HUGE),
        riff(
            chunk(b"odd ", b"abc\0", 3), fmt(), chunk(b"LIST", b"INFO"), chunk(b"data", SOUND), chunk(b"id3 ", b"x" * 9)
        ),
        riff(fmt(code=0xFFFE, more=b"\x16\0\x10\0\0\0\0\0\1\0" + b"\0" * 14), chunk(b"data", SOUND)),
        riff(fmt(), chunk(b"data", SOUND + b"\0")),
    ],
)
def test_what_can_be_understood_is_heard(tmp_path, capsys, data):
    words = read_words(written(tmp_path, data))
    assert np.array_equal(words, np.frombuffer(SOUND, "<i2").astype(np.int32) << 16)
    assert capsys.readouterr().err == ""


def test_a_recording_that_was_cut_off_is_heard_as_far_as_it_goes_and_that_is_said(tmp_path, capsys):
    words = read_words(written(tmp_path, riff(fmt(), chunk(b"data", SOUND, len(SOUND) + 48000))))
    assert len(words) == 4000
    assert "the last 1.5 s that its head speaks of are missing" in capsys.readouterr().err


def test_too_long_and_too_large_are_seen_before_anything_is_read(tmp_path):
    path = tmp_path / "x.wav"
    with open(path, "wb") as file:  # without a byte of it on the disk
        file.write(riff(fmt(rate=8000), chunk(b"data", b"", HUGE)))
        file.truncate(wav.LONGEST_BYTES)
    began = time.monotonic()
    with pytest.raises(BadInput, match="longer than 30 minutes"):
        read_words(path)
    os.truncate(path, wav.LONGEST_BYTES + 1)
    with pytest.raises(BadInput, match="larger than 1024 MiB"):
        read_words(path)
    os.truncate(path, 1 << 40)
    with pytest.raises(BadInput, match="larger than 1024 MiB"):
        read_words(path)
    assert time.monotonic() - began < 1


def test_pipes_devices_and_folders_are_no_recordings(tmp_path):
    os.mkfifo(tmp_path / "pipe")
    for path in (tmp_path / "pipe", "/dev/zero", "/dev/null"):
        with pytest.raises(BadInput, match="is not a file with a recording"):
            read_words(path)
    for path in (tmp_path, tmp_path / "nowhere", "", "a\0b", "x" * 5000):
        with pytest.raises(BadInput, match="cannot be read"):
            read_words(path)


@pytest.mark.skipif(not os.path.exists("/proc/self/status"), reason="only Linux says how much memory a program took")
def test_a_large_recording_takes_little_memory(tmp_path):
    """256 MiB of 32 channels at 192 kHz; as samples of 8 bytes it would be twice that."""
    path = tmp_path / "x.wav"
    with open(path, "wb") as file:
        file.write(riff(fmt(rate=192000, channels=32, bits=32), chunk(b"data", b"", HUGE)))
        file.truncate(1 << 28)
    # Not from getrusage, which on Linux begins with what the process held that started this one.
    script = (
        "import re, sys\n"
        "from reedbench.desk.audio import read_words\n"
        "samples = len(read_words(sys.argv[1]))\n"
        "print(samples, re.search(r'VmHWM:\\s+(\\d+) kB', open('/proc/self/status').read())[1])\n"
    )
    done = subprocess.run([sys.executable, "-c", script, path], capture_output=True, text=True, check=True)
    samples, kib = map(int, done.stdout.split())
    assert samples == pytest.approx((1 << 28) / 128 / 12, abs=1)
    assert kib < 260_000, "the file is 262,144 KiB, and a block of it 16,384 as samples"


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 44100, 48000, 96000, 192000])
@pytest.mark.parametrize("count", [1, 1000, 65536, 200_001])
def test_blocks_leave_no_joints(rate, count):
    samples = np.random.default_rng(1).standard_normal(count)
    common = math.gcd(rate, RATE)
    up, down = RATE // common, rate // common
    wider = max(up, down)
    taps = firwin(2 * 48 * wider + 1, 0.95 / wider, window=("kaiser", 8.0))
    whole = resample_poly(samples, up, down, window=taps)
    parts = np.concatenate(list(resampled((samples[at : at + 65536] for at in range(0, count, 65536)), rate)))
    assert len(parts) == len(whole) == math.ceil(count * up / down)
    assert np.allclose(parts, whole, atol=1e-9)
