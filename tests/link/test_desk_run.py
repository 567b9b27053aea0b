"""The whole firmware on the desk board, as `run.py` starts it."""

import json
import struct
import subprocess
import time
import zlib
from pathlib import Path

import pytest
from desk import FIRMWARE, Desk

RUN = FIRMWARE / "boards" / "desk" / "run.py"


def pixels(file: Path) -> list[str]:
    """Rows of a one-bit PNG (ISO/IEC 15948), "#" where it is white; every checksum is checked."""
    data = file.read_bytes()
    assert data[:8] == b"\x89PNG\r\n\x1a\n"
    at, chunks = 8, {}
    while at < len(data):
        (length,) = struct.unpack_from(">I", data, at)
        kind, body = data[at + 4 : at + 8], data[at + 8 : at + 8 + length]
        assert struct.unpack_from(">I", data, at + 8 + length)[0] == zlib.crc32(kind + body)
        chunks[kind] = body
        at += 12 + length
    assert struct.unpack(">IIBBBBB", chunks[b"IHDR"]) == (128, 64, 1, 0, 0, 0, 0)
    raw = zlib.decompress(chunks[b"IDAT"])
    rows = [raw[at : at + 17] for at in range(0, len(raw), 17)]
    assert len(rows) == 64 and all(row[0] == 0 for row in rows)
    return ["".join(f"{byte:08b}" for byte in row[1:]).replace("0", " ").replace("1", "#") for row in rows]


def shown(meter: Desk) -> list[list[str]]:
    """The words of each screen so far."""
    return [request["words"] for request in meter.requests if "words" in request]


def test_the_firmware_starts_shows_a_screen_and_answers(micropython_program: str, tmp_path: Path) -> None:
    settings = {"screens": str(tmp_path), "unix_s": 1_700_000_000}
    with Desk(micropython_program, tmp_path / "flash", RUN, **settings) as meter:
        told = meter.ask("hello", protocol=1, ledger="here")
        assert (told["board"], told["serial"], told["next_seq"]) == ("desk", "D1", 0)
        assert meter.ask("clock", unix_s=1_800_000_000)["was_unix_s"] >= 1_700_000_000
        while not any(words[0] == "What to do?" for words in shown(meter)):
            time.sleep(0.01)
    assert [words[0] for words in shown(meter)] == ["reedbench", "What to do?"]
    [picture] = tmp_path.glob("0001-*.png")
    lit = "".join(pixels(picture)).count("#")
    assert 100 < lit < 128 * 64 / 2


def test_a_key_that_is_down_at_power_up_leaves_at_once(micropython_program: str, tmp_path: Path) -> None:
    with Desk(micropython_program, tmp_path / "flash", RUN, keys=[[0, "down", "hold"]]) as meter:
        assert meter.process.wait(5) == 0


@pytest.mark.parametrize(
    ("settings", "words"),
    [
        ("", "the settings are not JSON"),
        ("[1]", "the settings lack flash"),
        (json.dumps({"flash": "x", "port_fd": 3}), "the settings lack player_fd"),
    ],
)
def test_settings_that_will_not_do_are_named(micropython_program: str, settings: str, words: str) -> None:
    command = [micropython_program, str(RUN)]
    done = subprocess.run(command, input=settings, capture_output=True, text=True, timeout=20)
    assert (done.returncode, done.stdout, done.stderr) == (2, "", f"desk meter: {words}\n")
