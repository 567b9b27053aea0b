"""A finished run of the demo, as the tests look at it."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any


@dataclass(frozen=True)
class Demo:
    """A finished demo: what `--json` printed, and the folder that `--out` filled."""

    said: dict[str, Any]
    folder: Path

    def trusted(self) -> list[tuple[dict[str, Any], dict[str, Any]]]:
        """(reed, take) of every take that has a figure and no flag."""
        return [
            (reed, take) for reed in self.said["reeds"] for take in reed["takes"] if take["hz"] and not take["flags"]
        ]
