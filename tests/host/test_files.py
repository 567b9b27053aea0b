"""Writing a file: whole or not at all, and never in place of something that is no file."""

import os
import stat
from pathlib import Path

import pytest
from reedbench import files
from reedbench.errors import Failed


def test_an_earlier_file_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "page.html"
    path.write_text("before")
    files.write(path, "after")
    assert path.read_text() == "after" and os.listdir(tmp_path) == ["page.html"]


def test_a_pipe_is_not_replaced(tmp_path: Path) -> None:
    """As root, a rename over /dev/null would succeed: a pipe stands in for the device here."""
    path = tmp_path / "pipe"
    os.mkfifo(path)
    with pytest.raises(Failed, match="not a file"):
        files.write(path, "page")
    assert stat.S_ISFIFO(path.stat().st_mode) and os.listdir(tmp_path) == ["pipe"]


def test_a_folder_is_not_replaced(tmp_path: Path) -> None:
    (tmp_path / "folder").mkdir()
    with pytest.raises(Failed, match="not a file"):
        files.write(tmp_path / "folder", "page")
    assert (tmp_path / "folder").is_dir()
