"""Reedbench, the host side: pulls takes from a reed meter, keeps them, plans the work, prints the sheet."""

from pathlib import Path

__version__ = "0.1.0"


def firmware_path() -> Path:
    """Folder of the firmware's sources, which this package carries."""
    return Path(__file__).resolve().parent / "firmware"
