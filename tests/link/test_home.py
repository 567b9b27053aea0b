"""`reedbench ledger home`: a new computer becomes the one whose pulls free the meter's memory."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from host_cable import Cable, Firmware
from reedbench.__main__ import run

pytestmark = pytest.mark.usefixtures("micropython_program")


@pytest.fixture
def port(tmp_path: Path) -> Iterator[str]:
    root = tmp_path / "meter"
    root.mkdir()
    meter = Firmware(root, reeds=12)
    with Cable(meter) as cable:
        yield cable.port
    meter.close()


def said(capsys: pytest.CaptureFixture[str], *line: object) -> Any:
    assert run([*map(str, line), "--json"]) == 0
    return json.loads(capsys.readouterr().out)


def test_a_new_computer_becomes_the_home(capsys: pytest.CaptureFixture[str], tmp_path: Path, port: str) -> None:
    old, new = ("--port", port, "--ledger", tmp_path / "old.db"), ("--port", port, "--ledger", tmp_path / "new.db")
    first = said(capsys, "ledger", "home", *old)
    assert first["home_before"] == ""
    assert said(capsys, "ledger", "home", *old)["home_before"] == first["home"], "once is as good as twice"
    pulled = said(capsys, "pull", *new)
    assert pulled["takes"] and not pulled["home"] and not pulled["freed"]

    assert run([*map(str, ("ledger", "home", *new))]) == 2
    assert "This meter has another home" in capsys.readouterr().err
    assert said(capsys, "find", *new)["meters"][0]["home"] == first["home"], "it was changed without being asked"

    told = said(capsys, "ledger", "home", "--yes", *new)
    assert told["home_before"] == first["home"] != told["home"]
    again = said(capsys, "pull", *new)
    assert again["home"] and again["freed"] and not again["records"]
    assert not said(capsys, "pull", *old)["home"]
