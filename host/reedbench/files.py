"""Writing a file so that it is there whole or not at all."""

import os
import tempfile
from pathlib import Path

from reedbench.errors import Failed


def write(path: Path, text: str) -> None:
    """Make `text` (UTF-8) the content of `path`; raises Failed and leaves an earlier file as it was."""
    try:
        number, draft = tempfile.mkstemp(dir=path.parent, prefix=".reedbench-")
        try:
            with open(number, "w", encoding="utf-8") as file:
                file.write(text)
            os.chmod(draft, 0o666 & ~_umask())
            os.replace(draft, path)
        except BaseException:
            os.unlink(draft)
            raise
    except OSError as error:
        raise Failed(f"{path} cannot be written: {error.strerror}") from error


def _umask() -> int:
    """The process's mask for new files, which mkstemp does not follow; it can only be read by setting it."""
    mask = os.umask(0o077)
    os.umask(mask)
    return mask
