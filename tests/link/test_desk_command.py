"""`reedbench desk` on the command line: what it refuses, the keys it is told, and who plays for it."""

import json
import os
import sys
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from reedbench.__main__ import run
from reedbench.commands.desk import taps
from reedbench.desk import live
from reedbench.desk.audio import RATE
from reedbench.desk.players import ReedPlayer, address_of, asked, player_for
from reedbench.desk.scenario import Scenario, demo_scenario
from reedbench.errors import BadInput, Failed

pytestmark = pytest.mark.usefixtures("micropython_program")


def refused(capsys: pytest.CaptureFixture[str], *arguments: Any) -> tuple[int, str]:
    code = run(["desk", *map(str, arguments)])
    out, err = capsys.readouterr()
    assert out == "" and err.startswith("reedbench: ") and err.count("\n") == 1
    assert "fault in the program itself" not in err
    return code, err


def test_what_cannot_be_is_refused_in_one_line(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.write_text("x")
    os.mkfifo(tmp_path / "pipe")
    long = "x" * 5000
    assert refused(capsys, "--mic", long) == (2, f"reedbench: {long}: cannot be read: File name too long\n")
    assert refused(capsys, "--mic", tmp_path / "none")[0] == 2
    assert "is not a file with a recording" in refused(capsys, "--mic", tmp_path / "pipe")[1]
    for folder in (file / "below", long):
        code, err = refused(capsys, "--quiet-room", "--screens", folder)
        assert code == 1 and "cannot be made" in err
    assert refused(capsys, "--flash", tmp_path / "none" / "flash")[0] == 1
    assert refused(capsys, "--flash", long)[0] == 1
    for there in (file, tmp_path / "pipe"):
        code, err = refused(capsys, "--flash", there)
        assert code == 2 and "not a desk meter's memory" in err
    assert file.read_text() == "x" and not (tmp_path / "none").exists()
    code, err = refused(capsys, "--watch")
    assert code == 2 and "draws in a terminal" in err
    assert refused(capsys, "--watch", "--json")[0] == 2
    assert refused(capsys, "--live", "--fast")[0] == 2
    assert refused(capsys, "--fault", "rain")[0] == 2


def test_an_instruments_own_file_is_played_with_errors_from_the_seed(tmp_path: Path) -> None:
    instrument = replace(demo_scenario(1).instrument, name="mine")
    path = tmp_path / "mine.json"
    path.write_text(json.dumps(instrument.to_dict()))
    plain, again, other = (Scenario.read(path, seed) for seed in (None, 1, 7))
    assert plain == again and plain.instrument == other.instrument == instrument
    assert len(plain.hidden_cents) == 64 and plain.hidden_cents != other.hidden_cents
    assert isinstance(player_for(path, 7), ReedPlayer)
    small = tmp_path / "small.json"
    layout = {"reedbench": "layout", "version": 1, "id": "two", "title": "Two", "source": "none", "voices": ["blow"]}
    layout |= {"unconfirmed": True, "plates": [{"name": "one"}], "reeds": [["1", 60], ["2", 62]]}
    small.write_text(json.dumps(instrument_of(layout)))
    assert Scenario.read(small).faults == {}


def instrument_of(layout: dict[str, Any]) -> dict[str, Any]:
    order = {"reference_hz": 440, "tolerance_cents": 2}
    return {
        "reedbench": "instrument", "version": 1, "key_id": "0" * 16, "name": "x", "layout": layout, "key": "C",
        "order": order,
    }  # fmt: skip


def test_a_seed_is_refused_where_it_means_nothing(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    demo_scenario(1).save(tmp_path / "scenario.json")
    (tmp_path / "takes").mkdir()
    for source in ("scenario.json", "takes"):
        code, err = refused(capsys, "--mic", tmp_path / source, "--seed", "2")
        assert code == 2 and "leave --seed out" in err


def test_live_without_its_package_says_what_to_install(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    code, err = refused(capsys, "--live")
    assert code == 1 and "pip install sounddevice" in err


class Stream:
    """Stands in for the stream of the package sounddevice, whose library and microphone no test can count on."""

    def __init__(self, samplerate: int, channels: int, dtype: str, callback: Callable[..., None]) -> None:
        assert (samplerate, channels, dtype) == (RATE, 1, "float32")
        self._callback = callback

    def start(self) -> None:
        for first in range(0, RATE, 160):
            block = np.arange(first, first + 160, dtype=np.float32)[:, None] / RATE
            self._callback(block, 160, None, None)
            block[:] = np.nan  # the library uses it again

    def close(self) -> None:
        pass


def test_live_sound_comes_in_order_and_without_what_nobody_listened_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", SimpleNamespace(InputStream=Stream, PortAudioError=OSError))
    monkeypatch.setattr(live, "PATIENCE_S", 0.1)
    player = live.LivePlayer()
    parts = [player.samples(256, 0, lost_ms, None) for lost_ms in (0, 0, 50, 0)]
    heard = np.concatenate(parts) / 2**31 * RATE
    expected = np.concatenate((np.arange(512), np.arange(512 + 800, 1024 + 800)))
    assert heard == pytest.approx(expected, abs=0.01)
    with pytest.raises(Failed, match="fallen silent"):
        player.samples(RATE, 0, 0, None)
    player.close()


def test_keys_on_the_command_line() -> None:
    assert taps("") == []
    assert taps("500:do,2000:up:hold") == [(500, "do", "tap"), (2000, "up", "hold")]
    for text in ("500", "do:500", "5x:do", "500:do:tap", "500:left", "500:do:hold:hold", "-1:do"):
        with pytest.raises(BadInput):
            taps(text)


def test_a_player_reads_every_screen_in_both_languages() -> None:
    assert asked(["Hole 3", "draw", "slide in", "sound it", "take 1"]) == ("3", "draw", "in")
    assert asked(["Kanal 3", "ziehen", "Schieber rein", "nochmal spielen"]) == ("3", "draw", "in")
    assert asked(["Taste C4", "ziehen", "M+", "-38.2", "±2.9 c", "nochmal spielen"]) == ("C4", "pull", "M+")
    assert asked(["Key C4", "female", "that was D4 female"]) == ("C4", "female")
    assert asked(["Key C4", "no figure", "sound it again"]) == ("C4",)
    assert asked(["How is it sounded?", "do", "go, or just sound", "Hole 1", "blow"]) == ("1", "blow")
    assert asked(["Hole 3", "draw", "hold ...", "take 1"]) is None
    reeds = demo_scenario(1).instrument.reeds
    assert len({address_of(reed) for reed in reeds}) == len(reeds)
