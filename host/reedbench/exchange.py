"""Tables for other programs: CSV that a spreadsheet shows as it is meant, and that can be read back.

A text cell that a spreadsheet would take for a formula gets an apostrophe before it, which `unguarded` takes off
again. Numbers have a decimal point and no thousands; an unknown value is an empty cell.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from reedbench.output import clean

# What begins a formula in one spreadsheet or another, full-width signs included.
_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
GUARD = "'"

Value = str | int | float | bool | None


@dataclass(frozen=True)
class Column:
    """A column: its name with the unit, what it holds, digits after the point of its numbers."""

    name: str
    meaning: str
    digits: int = 0


@dataclass(frozen=True)
class Table:
    """Rows under `columns`; `schema` stands in the first column of each row."""

    schema: str
    columns: tuple[Column, ...]
    rows: Sequence[Mapping[str, Value]]

    def csv(self) -> str:
        """The table as CSV, its names in the first line."""
        text = io.StringIO()
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(["schema", *(column.name for column in self.columns)])
        for row in self.rows:
            writer.writerow([self.schema, *(_cell(row[column.name], column.digits) for column in self.columns)])
        return text.getvalue()


def _cell(value: Value, digits: int) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int):
        return str(value)
    if isinstance(value, float):
        return f"{value + 0.0:.{digits}f}"
    return guarded(value)


def guarded(text: str) -> str:
    """`text` on one line, and so that no spreadsheet takes it for a formula."""
    text = clean(text)
    return GUARD + text if text.lstrip().startswith((*_FORMULA, GUARD)) else text


def unguarded(text: str) -> str:
    """The text that `guarded` was given, cleaned."""
    return text[1:] if text.startswith(GUARD) and guarded(text[1:]) == text else text
