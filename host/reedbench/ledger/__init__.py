"""The ledger: everything the shop has measured, in one SQLite file."""

from reedbench.ledger.decoding import Kept, Sender
from reedbench.ledger.imports import Imported, ImportedReading
from reedbench.ledger.place import default_path
from reedbench.ledger.rows import (
    StoredBaseband,
    StoredInstrument,
    StoredSitting,
    StoredSurvey,
    StoredTake,
    Trace,
)
from reedbench.ledger.store import Ledger

__all__ = [
    "Imported",
    "ImportedReading",
    "Kept",
    "Ledger",
    "Sender",
    "StoredBaseband",
    "StoredInstrument",
    "StoredSitting",
    "StoredSurvey",
    "StoredTake",
    "Trace",
    "default_path",
]
