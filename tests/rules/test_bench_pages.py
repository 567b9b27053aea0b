"""What the pages say about the program holds for the program."""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from reedbench.desk.scenario import demo_scenario
from reedbench.firmware.screens.strings_en import TEXT
from reedbench.firmware.wire import record
from reedbench.instrument import Instrument
from tree import FIRMWARE, ROOT, host, shown, tree

DOCS = ROOT / "docs"
TROUBLE = (DOCS / "troubleshooting.md").read_text(encoding="utf-8")
REFUSALS = ("Failed", "BadInput", "NoMeter", "LinkFault", "Silent", "WireError")
WORDED_BY = ("_why", "_busy", "_forbidden", "_no_meter")  # functions that put a refusal into words
LEAST = 8  # letters; less would be found anywhere


def said(path: Path) -> Iterator[tuple[int, str]]:
    """(line, text) of each refusal in a source; what is filled in at run time reads as a line feed."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in REFUSALS:
            texts = [argument for argument in node.args if text_of(argument) is not None]
            yield from ((node.lineno, text_of(text) or "") for text in texts[-1:])
        elif isinstance(node, ast.FunctionDef) and node.name in WORDED_BY:
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and inner.value is not None and text_of(inner.value):
                    yield inner.lineno, text_of(inner.value) or ""
        elif isinstance(node, ast.Call) and ast.unparse(node.func) == "say" and path.name == "__main__.py":
            yield node.lineno, text_of(node.args[0]) or ""


def text_of(node: ast.expr) -> str | None:
    if isinstance(node, ast.Constant) and isinstance(node.value, str):
        return node.value
    if isinstance(node, ast.JoinedStr):
        return "".join(str(part.value) if isinstance(part, ast.Constant) else "\n" for part in node.values)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod) and (text := text_of(node.left)) is not None:
        return re.sub(r"%[ds]", "\n", text)
    return None


def parts(text: str) -> list[str]:
    """The fixed words of a refusal, without the signs around them."""
    return [part for raw in text.split("\n") if len(part := raw.strip(" :;,.()")) >= LEAST]


SPEAKING = [path for path in [*host(), *sorted((FIRMWARE / "meter").glob("*.py"))] if any(said(path))]


def test_refusals_are_found() -> None:
    assert len(SPEAKING) > 15
    assert sum(len(parts(text)) for path in SPEAKING for _, text in said(path)) > 80


@pytest.mark.parametrize("path", SPEAKING, ids=shown)
def test_every_refusal_stands_in_troubleshooting(path: Path) -> None:
    page = " ".join(TROUBLE.split())
    for line, text in said(path):
        for part in parts(text):
            assert part in page, f"{shown(path)}:{line} says {part!r}, which troubleshooting does not explain"


@pytest.mark.parametrize("flag", record.FLAGS)
def test_every_flag_stands_in_troubleshooting(flag: str) -> None:
    assert f"| {flag} | {TEXT[flag]} |" in TROUBLE


def test_the_example_is_the_demos_instrument() -> None:
    example = DOCS / "river-boat.json"
    assert Instrument.read(example) == demo_scenario(1).instrument
    quoted = re.search(r"```json\n(.*?)```", (DOCS / "instrument-file.md").read_text(encoding="utf-8"), re.DOTALL)
    assert quoted and json.loads(quoted[1]) == json.loads(example.read_text(encoding="utf-8"))


def test_every_field_of_an_instrument_is_explained() -> None:
    page = (DOCS / "instrument-file.md").read_text(encoding="utf-8")
    example = json.loads((DOCS / "river-boat.json").read_text(encoding="utf-8"))
    for field in [*example, *example["order"]]:
        assert f"| `{field}` |" in page, f"instrument-file.md does not explain {field}"
