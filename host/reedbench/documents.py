"""Reading small JSON documents that people write: every refusal is one line naming file, field and cure.

A document of ours is one JSON object that says what it is (`"reedbench": "instrument"`) and which version
of its schema it follows. Nothing in it is trusted: size, encoding, nesting, types, ranges and stray fields
are all checked here, so that the modules that use the values need not.
"""

import json
import math
import unicodedata
from collections.abc import Collection, Mapping
from os import PathLike, fspath
from pathlib import Path
from typing import Any, NoReturn

from reedbench.errors import BadInput
from reedbench.output import clean

LONGEST_BYTES = 256 * 1024  # far more than any layout or instrument needs
_SHOWN = 60


def shown(value: object) -> str:
    """A value from a file, short and harmless enough to stand in a message."""
    if isinstance(value, dict | list):
        return "a list" if isinstance(value, list) else "an object"
    text = clean(json.dumps(value, ensure_ascii=False))
    return text if len(text) <= _SHOWN else text[:_SHOWN] + "..."


def read_json(path: str | PathLike[str]) -> Any:
    """The JSON value in the file at `path` (UTF-8, at most LONGEST_BYTES); BadInput for anything else."""
    return parse_json(read_bytes(path), clean(fspath(path)))


def read_bytes(path: str | PathLike[str]) -> bytes:
    """What is in the small file at `path`; BadInput where it cannot be read or is longer than LONGEST_BYTES."""
    where = clean(fspath(path))
    try:
        with open(path, "rb") as file:
            raw = file.read(LONGEST_BYTES + 1)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) and error.strerror else str(error)
        raise BadInput(f"{where}: cannot be read: {clean(reason)}") from error
    _check_length(raw, where)
    return raw


def _check_length(raw: bytes, where: str) -> None:
    if len(raw) > LONGEST_BYTES:
        raise BadInput(f"{where}: longer than {LONGEST_BYTES // 1024} KiB, so not a file of this program")


def parse_json(raw: bytes, where: str) -> Any:
    """The JSON value in `raw`; `where` names it in messages. Doubled fields and NaN are refused."""
    _check_length(raw, where)
    try:
        return json.loads(raw.decode("utf-8-sig"), parse_constant=_no_constant, object_pairs_hook=_once)
    except UnicodeDecodeError as error:
        raise BadInput(f"{where}: not UTF-8 text") from error
    except json.JSONDecodeError as error:
        raise BadInput(f"{where}: line {error.lineno}: {_json_mistake(error.msg)}") from error
    except RecursionError as error:
        raise BadInput(f"{where}: nested too deeply") from error
    except ValueError as error:
        said = "a number is far too long" if "integer string" in str(error) else clean(str(error))[:120]
        raise BadInput(f"{where}: {said}") from error


# The beginnings of Python's own words, and what somebody who does not program has most likely done.
_MISTAKES = {
    "Expecting property name": 'here a name in plain quotation marks "..." must begin, or the comma before is too many',
    "Illegal trailing comma": "the comma before the closing bracket is one too many",
    "Expecting ','": "a comma is missing before this, or a bracket is not closed",
    "Expecting ':'": "a colon is missing after the name",
    "Expecting value": 'there is no value, or it is a text without plain quotation marks "..."',
    "Unterminated string": "the quotation mark that ends the text is missing",
    "Invalid control character": "the quotation mark that ends the text is missing in this line",
    "Invalid \\": "before a backslash there must be another one",
    "Extra data": "the file goes on after its end: a bracket is closed too early, or there is something below it",
}


def _json_mistake(message: str) -> str:
    return next((words for start, words in _MISTAKES.items() if message.startswith(start)), "this is no JSON")


def _no_constant(name: str) -> NoReturn:
    raise ValueError(f"{name} is not a number")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    values = dict(pairs)
    if len(values) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the field {shown(twice)} stands there twice")
    return values


class Fields:
    """One JSON object, read field by field; `done` refuses what nobody asked for."""

    def __init__(self, values: Any, where: str, inside: str = "") -> None:
        self.where = where
        self._inside = inside
        if not isinstance(values, Mapping):
            name = inside.rstrip(".: ") or "the document"
            raise BadInput(f"{where}: {name} must be an object {{...}}, not {shown(values)}")
        self._values = dict(values)
        self._asked: list[str] = []

    def refuse(self, name: str, allowed: str) -> NoReturn:
        """Raises BadInput for the field `name`, saying what it holds and what is `allowed`."""
        if name not in self._values:
            raise BadInput(f"{self.where}: {self._inside}{name} is missing; it must be {allowed}")
        value = shown(self._values[name])
        raise BadInput(f"{self.where}: {self._inside}{name} is {value}; it must be {allowed}")

    def take(self, name: str, default: Any = None) -> Any:
        """The unchecked value of a field, or `default`."""
        self._asked.append(name)
        return self._values.get(name, default)

    def kind(self, name: str, version: int) -> None:
        """Checks that the document says it is a `name` of schema `version`."""
        if self.take("reedbench") != name:
            self.refuse("reedbench", f'"{name}"')
        held = self.take("version")
        if held != version or isinstance(held, bool):
            self.refuse("version", f"{version}; a newer file needs a newer program")

    def text(self, name: str, longest: int) -> str:
        """A text of 1 to `longest` characters on one line."""
        value = self.take(name)
        if not isinstance(value, str) or not 0 < len(value.strip()) <= len(value) <= longest:
            self.refuse(name, f"a text of 1 to {longest} characters")
        if any(unicodedata.category(sign) in ("Cc", "Zl", "Zp", "Cs") for sign in value):
            self.refuse(name, "a text on one line without control characters")
        return value

    def choice(self, name: str, allowed: Collection[str], default: str | None = None) -> str:
        """One of the words in `allowed`."""
        value = self.take(name, default)
        if not isinstance(value, str) or value not in allowed:
            self.refuse(name, "one of " + ", ".join(f'"{word}"' for word in allowed))
        return value

    def number(self, name: str, low: float, high: float, default: float | None = None) -> float:
        """A finite number from `low` to `high`."""
        value = self.take(name, default)
        if not isinstance(value, int | float) or isinstance(value, bool):
            self.refuse(name, f"a number from {low:g} to {high:g}")
        if not low <= value <= high or not math.isfinite(value):
            self.refuse(name, f"a number from {low:g} to {high:g}")
        return float(value)

    def flag(self, name: str, default: bool | None = None) -> bool:
        """true or false."""
        value = self.take(name, default)
        if not isinstance(value, bool):
            self.refuse(name, "true or false")
        return value

    def whole(self, name: str, low: int, high: int, default: int | None = None) -> int:
        """A whole number from `low` to `high`."""
        value = self.take(name, default)
        if not isinstance(value, int) or isinstance(value, bool) or not low <= value <= high:
            self.refuse(name, f"a whole number from {low} to {high}")
        return value

    def beside(self, name: str, folder: Path, endings: Collection[str]) -> Path:
        """The file that a field names, in `folder` and nowhere else."""
        value = self.take(name)
        if not isinstance(value, str) or not value.endswith(tuple(endings)) or {"/", "\\", ":", "\0"} & set(value):
            self.refuse(name, f"the name of a file that lies beside this one and ends in {' or '.join(endings)}")
        return folder / value

    def inner(self, name: str) -> "Fields":
        """The object in the field `name`, as Fields of its own."""
        return Fields(self.take(name), self.where, f"{self._inside}{name}.")

    def done(self) -> None:
        """Raises BadInput where the object holds a field that was not asked for."""
        for name in self._values:
            if name not in self._asked:
                known = ", ".join(self._asked)
                raise BadInput(f"{self.where}: {self._inside}{shown(name)} is not a field here; known are {known}")
