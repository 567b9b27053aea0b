"""Reedbench, the host side: pulls takes from a reed meter, keeps them, plans the work, prints the sheet."""

import os
from pathlib import Path

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")  # before numpy: on matrices as small as ours threads only wait

__version__ = "0.1.0"


def firmware_path() -> Path:
    """Folder of the firmware's sources, which this package carries."""
    return Path(__file__).resolve().parent / "firmware"
