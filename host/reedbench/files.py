"""Writing a file so that it is there whole or not at all."""

import os
import secrets
from pathlib import Path

from reedbench.errors import Failed


def write(path: Path, text: str) -> int:
    """Make `text` the content of `path`, in UTF-8; returns its size in bytes.

    Raises Failed and leaves an earlier file as it was.
    """
    refuse_other_than_file(path)
    content = text.encode()
    draft = path.with_name(f".reedbench-{secrets.token_hex(8)}")
    try:
        with open(draft, "xb") as file:
            try:
                file.write(content)
                file.close()
                os.replace(draft, path)
            except BaseException:
                os.unlink(draft)
                raise
    except OSError as error:
        raise Failed(f"{path} cannot be written: {error.strerror}") from error
    return len(content)


def refuse_other_than_file(path: Path) -> None:
    """Raises Failed where `path` is a device, a pipe or a folder, which a new file in its place would destroy."""
    if os.path.lexists(path) and not os.path.isfile(path):
        raise Failed(f"{path} is not a file, and is not replaced by one: choose another name")
