"""The firmware as a board carries it hears, surveys and hands over the same as its sources do."""

import json
from pathlib import Path

import pytest
from finished import Demo
from reedbench.__main__ import run
from reedbench.desk import meter


@pytest.mark.timeout(200)
def test_a_survey_gives_the_same_plan(
    demo: Demo,
    slim_firmware: Path,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(meter, "firmware_path", lambda: slim_firmware)
    assert run(["demo", "--json", "--seed", "7", "--out", str(tmp_path)]) == 0
    said = json.loads(capsys.readouterr().out)
    assert len(said["reeds"]) == 64
    for small, whole in zip(said["reeds"], demo.said["reeds"], strict=True):
        # The room's noise is another at every start of the meter.
        there, here = ([take["hz"] for take in reed["takes"] if not take["flags"]] for reed in (whole, small))
        assert here == pytest.approx(there, rel=2e-6), f"hole {whole['hole']}, {whole['breath']}, {whole['slide']}"
