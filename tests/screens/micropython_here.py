"""Where MicroPython's Unix port is: beside the Python that runs the tests, or on the path."""

import shutil
import sys
from pathlib import Path


def micropython():
    """Path of the `micropython` program, or None where the system has no package of it."""
    beside = Path(sys.executable).parent / "micropython"
    return str(beside) if beside.exists() else shutil.which("micropython")
