"""The JSON Schema of everything that `--json` prints and of the rows of every CSV, made from the lists of keys.

json_keys.py and exporting.py own the keys and their meaning. What type a key holds follows from its name: a unit makes
a number, and every other name stands here once. A name that does not is refused, never guessed. Null is allowed where
the meaning says when.
"""

import re
from typing import Any

from json_keys import KEYS
from reedbench import exporting
from reedbench.exchange import Column

VERSION = 1  # rises when a key goes, or changes its type or meaning; new keys may come within a version

Schema = dict[str, Any]

UNITS = (
    "cents",
    "hz",
    "_s",
    "celsius",
    "percent",
    "dbfs",
    "_cents_per_s",
    "per_octave",
    "per_percent",
    "per_stroke",
    "_db",
    "ppm",
)
NUMBERS = {"days", "years", "rise", "seconds", "minutes"}
WHOLE = {
    "base", "bytes", "control", "copied", "epoch", "files", "free_bytes", "freed", "from_survey", "good", "heard",
    "hidden", "highest_midi", "hole", "inspect", "instruments", "last", "leave", "lower", "lowest_midi", "midi",
    "missing", "more_takes", "move", "moved", "need_work", "off", "order", "ordinal", "pages", "pass", "places",
    "protocol", "raise", "raises", "readings", "records", "reeds", "replace", "role", "rows", "seen", "sequence",
    "settled_reeds", "sitting", "size_bytes", "sound_again", "strokes", "strokes_fewest", "strokes_most",
    "survey", "surveys", "take", "takes", "to_pull", "to_survey", "torn", "unix_s", "unread", "unsure", "upper",
    "version", "worst_ordinal",
}  # fmt: skip
TRUTHS = {
    "at_once",
    "ended",
    "installed",
    "is_home",
    "needed",
    "new",
    "removed",
    "same_version",
    "sound",
    "told",
    "unconfirmed",
    "withdrawn",
    "worked",
}
TEXTS = {
    "action", "aside", "bank", "board", "both", "breath", "copy", "date", "did", "doing", "face", "file",
    "firmware", "firmware_before", "first_plate", "folder", "home", "home_before", "id", "instrument",
    "instrument_name", "interval", "key", "key_id", "kind", "last_hole", "law", "layout", "ledger", "member",
    "meter", "mts", "name", "note", "offset_learned_from", "part", "place", "plate", "port", "processor", "reed",
    "reedbench", "remark", "schema", "seat", "serial", "sheet", "sign", "site", "slide", "source", "stage", "state",
    "table",
    "takes_left_out", "temperament", "then", "title", "tuned", "verdict", "was", "what", "when", "where", "why",
    "wind", "work", "zone",
}  # fmt: skip
LISTS = {
    "afterwards": "string", "faults": "string", "flags": "string", "jobs": "string", "look": "string",
    "remarks": "string", "sound_after": "integer", "states": "string", "takes_used": "integer",
}  # fmt: skip

# Keys that are something else in one command than elsewhere, and those that may be missing.
OTHERWISE: dict[tuple[str, str], Schema] = {
    ("layout show", "reeds"): {"type": "array", "items": {"type": "array"}},
    ("layout show", "voices"): {"type": "array"},
    ("layout check", "plates"): {"type": "array", "items": {"type": "string"}},
    ("hear", "[].takes[].flags"): {"type": "array", "items": {"type": "string"}},
    ("hear", "[].refused[].two.reeds"): {"type": "array", "maxItems": 0},
    ("hear", "[].refused[].two.beats"): {"type": "array", "maxItems": 0},
    ("plan", "reeds[].pass"): {"type": "string"},
    ("plan --why", "reed.pass"): {"type": "string"},
    ("plan", "reeds[].look"): {"type": "array", "items": {"type": "string"}},
    ("history", "surveys[].look"): {"type": "integer"},
    ("pull", "home"): {"type": "boolean"},
    ("load", "work"): {"type": "integer"},
    ("plan", "stages[].reeds"): {"type": "array", "items": {"type": "integer"}},
    ("plan", "parts[].reeds"): {"type": "array", "items": {"type": "integer"}},
}
MAY_BE_OBJECT = ("instrument.layout",)  # a layout of one's own stands there whole
MISSING = {("layout show", key) for key in ("banks", "banks[].tuned", "pairs", "plates[].bank")}


def schema() -> Schema:
    """All of it: a definition for each command, and for the rows of each table as `csv.DictReader` gives them."""
    found = {name: _of(name, keys) for name, keys in KEYS.items()}
    found |= {f"csv {name}": _row(*table) for name, table in exporting.TABLES.items()}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": f"urn:reedbench:json:{VERSION}",
        "title": "What reedbench prints with --json, and the rows of its CSV files",
        "version": VERSION,
        "$defs": found,
    }


def _of(command: str, keys: dict[str, str]) -> Schema:
    """What a command prints."""
    if all(key.startswith("[]") for key in keys):
        return {"type": "array", "items": _object(command, keys, "[].")}
    return _object(command, keys, "")


def _object(command: str, keys: dict[str, str], place: str) -> Schema:
    """The object whose keys begin with `place`."""
    names = [key.removeprefix(place) for key in keys if key.startswith(place)]
    names = [name for name in names if name and not re.search(r"[.\[]", name)]
    needed = [name for name in names if not _may_be_missing(command, place + name, keys[place + name])]
    return {
        "type": "object",
        "properties": {name: _value(command, keys, place + name) for name in names},
        "required": needed,
    }


def _value(command: str, keys: dict[str, str], key: str) -> Schema:
    """What stands under a key, with its meaning."""
    meaning = keys[key]
    if any(other.startswith(f"{key}[].") for other in keys):
        found: Schema = {"type": "array", "items": _object(command, keys, f"{key}[].")}
    elif any(other.startswith(f"{key}.") for other in keys):
        found = _object(command, keys, f"{key}.")
    else:
        found = dict(OTHERWISE.get((command, key)) or _named(key.rpartition(".")[2]))
    if "null" in meaning:
        found["type"] = [found["type"], "null"]
    if key in MAY_BE_OBJECT:
        found["type"] = [found["type"], "object"]
    return {"description": meaning, **found}


def _may_be_missing(command: str, key: str, meaning: str) -> bool:
    return (command, key) in MISSING or "only where" in meaning


def _named(name: str) -> Schema:
    """What a key of that name holds."""
    if name in LISTS:
        return {"type": "array", "items": {"type": LISTS[name]}}
    for kind, names in (("integer", WHOLE), ("boolean", TRUTHS), ("string", TEXTS)):
        if name in names:
            return {"type": kind}
    if name in NUMBERS or name.endswith(UNITS):
        return {"type": "number"}
    raise KeyError(f"say in docs/json_schema.py what type {name} is of")


def _row(title: str, columns: tuple[Column, ...]) -> Schema:
    """A row of a table: all its cells are text, and look like what they hold; empty where it is unknown."""
    cells = {"schema": {"description": "name and version of the columns", "const": title}}
    cells |= {column.name: {"description": column.meaning, **_cell(column)} for column in columns}
    return {"type": "object", "properties": cells, "required": list(cells)}


def _cell(column: Column) -> Schema:
    if column.name == "takes_used":  # numbers, apart by semicolons
        return {"type": "string", "pattern": r"^([0-9]+(; [0-9]+)*)?$"}
    kind = _named(column.name).get("type")
    patterns = {"integer": r"^(-?[0-9]+)?$", "number": r"^(-?[0-9]+(\.[0-9]+)?)?$", "boolean": "^(yes|no)$"}
    return {"type": "string", "pattern": patterns[kind]} if kind in patterns else {"type": "string"}
