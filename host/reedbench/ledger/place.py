"""Where the ledger lies when nobody says otherwise."""

from pathlib import Path

import platformdirs


def default_path() -> Path:
    """The ledger in the user's data folder, as the operating system has it."""
    return platformdirs.user_data_path("reedbench", appauthor=False) / "ledger.db"
