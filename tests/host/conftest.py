"""What tests of commands begin with: a ledger that commands use by themselves, and an instrument's file."""

import json
from pathlib import Path

import pytest
from shop import instrument


@pytest.fixture
def ledger(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Where the ledger of every command is; there is none yet."""
    path = tmp_path / "ledger.db"
    monkeypatch.setenv("REEDBENCH_LEDGER", str(path))
    return path


@pytest.fixture
def tenor(tmp_path: Path) -> Path:
    """The file of an instrument, a solo-12."""
    path = tmp_path / "tenor.json"
    path.write_text(json.dumps(instrument().to_dict()))
    return path
