"""Readings that a shop has on paper, or another program measured, from a CSV file to a survey of the ledger.

    place,breath,slide,cents,u95_cents
    1,blow,out,-4.5,1
    1,draw,out,2,1

docs/exchange.md says what each column is. Every refusal names the line. Nothing in the file is believed before
it has been checked against the instrument: the reed must exist, a note must be its note, a pitch near its target.
"""

import csv
import difflib
import time
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from reedbench.documents import shown
from reedbench.errors import BadInput
from reedbench.exchange import unguarded
from reedbench.exporting import READINGS
from reedbench.instrument import Instrument, InstrumentReed
from reedbench.ledger import ImportedReading
from reedbench.output import clean
from reedbench.tuning import cents_between, note_midi, raised

LONGEST_BYTES = 1 << 20
ROWS_MOST = 2000
CELL_MOST = 1000
REMARK_MOST = 200
FAR_CENTS = 1200.0  # from the target: more is another reed
U95_CENTS = (0.01, 100.0)
PASSES = (0, 99)
ADDRESS = ("ordinal", "place", "breath", "slide", "member")
_SAME = {"hole": "place", "key": "place", "button": "place"}
_KNOWN = (*ADDRESS, "hz", "cents", "u95_cents", "note", "date", "state", "pass", "instrument", "remark")
PITCH = ("cents", "hz")  # columns of which a table of readings must have one


@dataclass(frozen=True)
class Line:
    """One line of the file: its number there, and its filled cells by column."""

    number: int
    cells: dict[str, str]
    where: str

    def refuse(self, why: str) -> NoReturn:
        """Raises BadInput for this line."""
        raise BadInput(f"{self.where}: line {self.number}: {why}")

    def figure(self, column: str, low: float, high: float) -> float | None:
        """The number in a column, None where the cell is empty."""
        text = self.cells.get(column, "")
        if not text:
            return None
        try:
            value = float(text.replace("\u2212", "-"))
        except ValueError:
            self.refuse(f"{column} is {shown(text)}; it must be a number")
        if not low <= value <= high:
            self.refuse(f"{column} is {shown(text)}; it must be a number from {low:g} to {high:g}")
        return value


@dataclass(frozen=True)
class Sheet:
    """A file of readings, its cells not yet checked. `unused`: columns that mean nothing here."""

    where: str
    raw: bytes
    lines: tuple[Line, ...]
    unused: tuple[str, ...]

    def common(self, column: str) -> str:
        """What all lines that say something in `column` say; empty where none does."""
        said = ""
        for line in self.lines:
            here = line.cells.get(column, "")
            if said and here and here != said:
                line.refuse(f"{column} is {shown(here)} here and {shown(said)} above: one file holds one survey")
            said = said or here
        return said


def read_sheet(
    path: Path, must: Collection[str] = PITCH, schema: str = READINGS[0], more: Collection[str] = ()
) -> Sheet:
    """The cells of the CSV file at `path`: comma, semicolon or tab; BadInput for anything else.

    Another table than one of readings has another `schema`, a column of `must`, and `more` that mean something.
    """
    where = clean(str(path))
    try:
        with open(path, "rb") as file:
            raw = file.read(LONGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise BadInput(f"{where}: cannot be read: {clean(reason)}") from error
    if len(raw) > LONGEST_BYTES:
        raise BadInput(f"{where}: longer than {LONGEST_BYTES >> 10} KiB, so no table of one instrument")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise BadInput(f"{where}: not UTF-8 text: save it as CSV in UTF-8") from error
    if "\0" in text:
        raise BadInput(f"{where}: not a text file: save it as CSV in UTF-8")
    rows = _rows(text, where)
    _, head = next(rows, (0, []))
    columns = _columns(head, where, must)
    lines = tuple(_lines(rows, columns, where, schema))
    if not lines:
        raise BadInput(f"{where}: there is no line with a reading in it")
    known = {*_KNOWN, *must, *more, "schema"}
    written = {column.name for column in READINGS[1]}
    return Sheet(where, raw, lines, tuple(name for name in columns if name not in known | written))


def _rows(text: str, where: str) -> Iterator[tuple[int, list[str]]]:
    """(line number, cells) of each row."""
    first = text.split("\n", 1)[0]
    sign = next((sign for sign in ";\t" if sign in first), ",")
    # Where the comma does not part cells it may stand for the decimal point.
    reader = csv.reader(text.splitlines(keepends=True), delimiter=sign, strict=True)
    try:
        for row in reader:
            if len(row) > 100 or any(len(cell) > CELL_MOST for cell in row):
                raise BadInput(f"{where}: line {reader.line_num}: too long for a line of readings")
            yield reader.line_num, [_decimal(cell.strip()) if sign != "," else cell.strip() for cell in row]
    except csv.Error as error:
        raise BadInput(f"{where}: line {reader.line_num}: not CSV ({clean(str(error))[:80]})") from error


def _decimal(cell: str) -> str:
    pointed = cell.replace(",", ".", 1)
    return pointed if pointed.lstrip("+-\u2212").replace(".", "", 1).isdigit() else cell


def _columns(head: list[str], where: str, must: Collection[str]) -> list[str]:
    named = [clean(name).strip().lower().replace(" ", "_") for name in head]
    columns = [_SAME.get(name, name) for name in named]
    twice = next((name for name in columns if name and columns.count(name) > 1), None)
    if twice:
        raise BadInput(f"{where}: line 1: two columns are called {shown(twice)}")
    if not {"ordinal", "place"} & set(columns):
        raise BadInput(f"{where}: line 1: there must be a column place (or hole, key, button); {_there(named, must)}")
    if not set(must) & set(columns):
        raise BadInput(f"{where}: line 1: there must be a column {' or '.join(must)}; {_there(named, must)}")
    return columns


def _there(names: list[str], must: Collection[str]) -> str:
    """Which columns there are, and which name was probably meant for one of ours."""
    filled = [name for name in names if name]
    if len(filled) < 2:
        return "its first line must name the columns, apart by commas, semicolons or tabs"
    meant = [(name, difflib.get_close_matches(name, (*_KNOWN, *_SAME, *must), 1)) for name in filled]
    hints = [f"is {shown(name)} meant to be {close[0]}?" for name, close in meant if close and close[0] != name]
    return "; ".join([f"there are {', '.join(filled)[:80]}", *hints[:2]])


def _lines(rows: Iterator[tuple[int, list[str]]], columns: list[str], where: str, expected: str) -> Iterator[Line]:
    for count, (number, row) in enumerate(rows):
        if count >= ROWS_MOST:
            raise BadInput(f"{where}: more than {ROWS_MOST} lines, so no table of one instrument")
        if not any(row):
            continue
        if len(row) > len(columns) and any(row[len(columns) :]):
            raise BadInput(f"{where}: line {number}: {len(row)} cells under {len(columns)} names")
        cells = {name: unguarded(cell) for name, cell in zip(columns, row, strict=False) if cell}
        schema = cells.get("schema", expected)
        if schema != expected:
            raise BadInput(f"{where}: line {number}: schema is {shown(schema)}; it must be {expected}")
        yield Line(number, cells, where)


def readings_from(sheet: Sheet, instrument: Instrument, u95_cents: float | None) -> list[ImportedReading]:
    """The readings in `sheet` of the reeds of `instrument`; lines without a figure give none.

    `u95_cents`: 95 % uncertainty of lines that do not state their own. BadInput, naming the line, for a reed that
    does not exist, comes twice or is another one, and for figures out of range.
    """
    found: dict[int, tuple[int, ImportedReading]] = {}
    for line in sheet.lines:
        key = line.cells.get("instrument", instrument.key_id)
        if key != instrument.key_id:
            line.refuse(f"this is a reading of the instrument {shown(key)}, not of {instrument.key_id}")
        reed = reed_of(line, instrument)
        hz = _pitch(line, reed)
        if hz is None:
            continue
        u95 = line.figure("u95_cents", *U95_CENTS) or u95_cents
        if u95 is None:
            line.refuse("its uncertainty is not stated: fill in u95_cents, or say --u95-cents for all")
        if reed.ordinal in found:
            line.refuse(f"the reed {reed.label} stands in line {found[reed.ordinal][0]} already")
        remark = clean(line.cells.get("remark", ""))[:REMARK_MOST]
        found[reed.ordinal] = line.number, ImportedReading(reed.ordinal, hz, u95, remark)
    if not found:
        raise BadInput(f"{sheet.where}: there is no line with a reading in it")
    return [reading for _, (_, reading) in sorted(found.items())]


def reed_of(line: Line, instrument: Instrument) -> InstrumentReed:
    """The one reed that the line's address and note fit."""
    said = {name: line.cells[name].lower() for name in ADDRESS if name in line.cells}
    fitting = [
        reed
        for reed in instrument.reeds
        if all(str(getattr(reed, name)).lower() == value for name, value in said.items())
    ]
    address = ", ".join(f"{name} {shown(line.cells[name])}" for name in said) or "no address"
    if not fitting:
        line.refuse(f"{instrument.layout.id} has no reed with {address}")
    if len(fitting) > 1:
        line.refuse(f"{len(fitting)} reeds have {address}: fill in more of {', '.join(ADDRESS)}")
    reed = fitting[0]
    note = line.cells.get("note", "")
    if note and note_midi(note) != reed.midi:
        line.refuse(f"note is {shown(note)}, but {reed.label} sounds {reed.note} on this instrument")
    return reed


def _pitch(line: Line, reed: InstrumentReed) -> float | None:
    """Hertz; where both are given hz counts, since cents depend on what the target was."""
    cents = line.figure("cents", -FAR_CENTS, FAR_CENTS)
    hz = line.figure("hz", 1.0, 20_000.0)
    if hz is None:
        return None if cents is None else raised(reed.target_hz, cents)
    away = cents_between(hz, reed.target_hz)
    if abs(away) > FAR_CENTS:
        line.refuse(f"hz is {hz:g}, {away:+.0f} cents from the target of {reed.label}: is it the right reed?")
    return hz


def unix_day(text: str) -> int:
    """Noon of a day written as 2026-11-25, in seconds since 1970; 0 for an empty text; BadInput otherwise."""
    if not text:
        return 0
    try:
        second = int(time.mktime((*time.strptime(text, "%Y-%m-%d")[:3], 12, 0, 0, 0, 0, -1)))
    except (ValueError, OverflowError):
        second = 0
    if not 0 < second < 1 << 32:
        raise BadInput(f"the date {shown(text)} is not a day such as 2026-11-25")
    return second
