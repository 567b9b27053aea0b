"""Writing a file so that it is there whole or not at all."""

import os
import tempfile
from pathlib import Path

from reedbench.errors import Failed


def write(path: Path, text: str) -> None:
    """Make `text` (UTF-8) the content of `path`; raises Failed and leaves an earlier file as it was."""
    refuse_other_than_file(path)
    try:
        number, draft = tempfile.mkstemp(dir=path.parent, prefix=".reedbench-")
        try:
            with open(number, "w", encoding="utf-8", newline="") as file:
                file.write(text)
            os.chmod(draft, 0o666 & ~_umask())
            os.replace(draft, path)
        except BaseException:
            os.unlink(draft)
            raise
    except OSError as error:
        raise Failed(f"{path} cannot be written: {error.strerror}") from error


def refuse_other_than_file(path: Path) -> None:
    """Raises Failed where `path` is a device, a pipe or a folder, which a new file in its place would destroy."""
    if os.path.lexists(path) and not os.path.isfile(path):
        raise Failed(f"{path} is not a file, and is not replaced by one: choose another name")


def _umask() -> int:
    """The process's mask for new files, which mkstemp does not follow; it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
