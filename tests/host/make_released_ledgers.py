"""Makes tests/host/ledgers/schema-N.db for the newest schema: run it once, when that schema is released.

Those of earlier schemas stay as the programs of their time wrote them.
"""

import sqlite3
from pathlib import Path

from reedbench.ledger import Imported, ImportedReading, Ledger, schema
from test_host_ledger import SENDER, redo, survey, take

FOLDER = Path(__file__).with_name("ledgers")


def make(folder: Path) -> Path:
    path = folder / f"schema-{schema.NEWEST}.db"
    with sqlite3.connect(path, isolation_level=None) as small:
        small.execute("PRAGMA page_size = 1024")  # since it lies in the repository
        small.execute("VACUUM")
    with Ledger.open(path, write=True) as ledger:
        ledger.keep(SENDER, [survey(0), take(1, 5, 1), take(2, 5, 2), take(3, 6, 1), redo(4, 5), take(5, 5, 3)])
        ledger.keep_instrument("00112233445566aa", "the tenor", "solo-12", {"name": "the tenor"})
        readings = [ImportedReading(5, 440.0, 0.5, "by ear")]
        ledger.keep_import(
            Imported(
                "00112233445566aa",
                "the tenor",
                "solo-12",
                48,
                "covers off",
                0,
                442.0,
                2.0,
                0,
                "r.csv",
                b"...",
                readings,
            )
        )
    return path


if __name__ == "__main__":
    FOLDER.mkdir(exist_ok=True)
    print(make(FOLDER))
