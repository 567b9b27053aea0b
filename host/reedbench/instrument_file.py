"""Describing an instrument: a new file, and changes to named fields, with every check of the instrument itself."""

import json
from collections.abc import Iterable
from dataclasses import fields
from importlib import resources
from typing import Any

from reedbench.documents import parse_json, shown
from reedbench.errors import BadInput
from reedbench.instrument import Instrument, TuningOrder

_OF_ORDER = tuple(field.name for field in fields(TuningOrder))


def text_of(instrument: Instrument) -> str:
    """The instrument as it stands in its file."""
    return json.dumps(instrument.to_dict(), ensure_ascii=False, allow_nan=False, indent=2) + "\n"


def example_document() -> Any:
    """The instrument of the demo, which comes with the program."""
    return parse_json((resources.files("reedbench") / "river-boat.json").read_bytes(), "the example")


def changed(document: Any, changes: Iterable[str], where: str) -> Instrument:
    """The instrument in `document` after `changes`, each "field=value"; BadInput leaves everything as it was."""
    if not isinstance(document, dict):
        return Instrument.from_dict(document, where)
    document = json.loads(json.dumps(document))
    for change in changes:
        _change(document, change)
    return Instrument.from_dict(document, where)


def _change(document: dict[str, Any], change: str) -> None:
    name, equals, text = change.partition("=")
    name = name.strip()
    if not equals or not name:
        raise BadInput(f"{shown(change)} is no change: write it as field=value, such as reference_hz=442")
    if name == "key_id":
        raise BadInput("key_id is the identity that surveys know the instrument by: it stays as it is")
    *outer, last = name.split(".")
    if not outer and last in _OF_ORDER:
        outer = ["order"]
    within = document
    for part in outer:
        inner = within.get(part)
        if not isinstance(inner, dict):
            raise BadInput(f"there is no object {shown(part)} in the instrument that {shown(name)} could be in")
        within = inner
    within[last] = text if isinstance(within.get(last), str) else _value(text)


def _value(text: str) -> Any:
    """What `text` stands for in JSON; itself where it is no JSON, for the checks to refuse or to take."""
    try:
        return parse_json(text.encode("utf-8", "surrogatepass"), "the new value")
    except BadInput:
        return text


def edited(text: str, before: Instrument, where: str) -> Instrument:
    """The instrument in `text`, an edited file of `before`; BadInput where it is none or another one."""
    after = Instrument.from_dict(parse_json(text.encode("utf-8", "surrogatepass"), where), where)
    if after.key_id != before.key_id:
        raise BadInput("key_id is the identity that surveys know the instrument by: it stays as it is")
    return after
