"""What the pages say about the program holds for the program."""

import ast
import json
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from reedbench.desk.scenario import demo_scenario
from reedbench.errors import BadInput, Failed, LinkFault, NoMeter
from reedbench.firmware.screens.strings_en import SECTIONS
from reedbench.firmware.screens.words import Words
from reedbench.firmware.wire import record
from reedbench.instrument import Instrument
from reedbench.tuning import TEMPERAMENTS, TuningOrder
from tree import FIRMWARE, HOST, ROOT, host, shown, tree

DOCS = ROOT / "docs"
TROUBLE = (DOCS / "troubleshooting.md").read_text(encoding="utf-8")
CODES = {error.__name__: str(error.exit_code) for error in (Failed, BadInput, NoMeter, LinkFault)}
CODES |= {"Silent": "4", "WireError": "4"}  # what a meter refuses
IN_A_LINE = "line.refuse"  # importing's way to raise a BadInput
LEAST = 8  # letters; less would be found anywhere


def said(path: Path) -> Iterator[tuple[int, str, str]]:
    """(line, exit code, text) of each refusal in a source; what is filled in at run time reads as a line feed.

    The code is empty where it differs from case to case.
    """
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Call):
            name = ast.unparse(node.func)
            texts = [argument for argument in node.args if text_of(argument) is not None]
            if name in CODES:
                yield from ((node.lineno, CODES[name], text_of(text) or "") for text in texts[-1:])
            elif name in (IN_A_LINE, "self.refuse") and path.name == "importing.py":
                yield node.lineno, CODES["BadInput"], text_of(node.args[0]) or ""
            elif name == "say" and path.name == "__main__.py":
                yield node.lineno, "", text_of(node.args[0]) or ""
        elif isinstance(node, ast.FunctionDef) and node.name == "_why":  # of the ledger, all Failed
            for inner in ast.walk(node):
                if isinstance(inner, ast.Return) and inner.value is not None and text_of(inner.value):
                    yield inner.lineno, CODES["Failed"], text_of(inner.value) or ""


def rows() -> list[tuple[str, str]]:
    """(what it says, exit code) of every row of the page's tables of refusals."""
    found = []
    for row in TROUBLE.splitlines():
        cells = [cell.strip() for cell in re.split(r"(?<!\\)\|", row)]
        if len(cells) == 5 and cells[2].isdigit():
            found.append((cells[1], cells[2]))
    return found


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
    assert sum(len(parts(text)) for path in SPEAKING for _, _, text in said(path)) > 130
    assert len(rows()) > 100


@pytest.mark.parametrize("path", SPEAKING, ids=shown)
def test_every_refusal_stands_in_troubleshooting_with_its_code(path: Path) -> None:
    for line, code, text in said(path):
        wanted = parts(text)
        told = [row_code for row, row_code in rows() if all(part in row for part in wanted)]
        assert told, f"{shown(path)}:{line} says {text!r}, which no row of troubleshooting explains"
        assert code in ("", *told), f"{shown(path)}:{line} ends with {code}; troubleshooting says {', '.join(told)}"


@pytest.mark.parametrize("flag", record.FLAGS)
def test_every_flag_stands_in_troubleshooting(flag: str) -> None:
    said = Words("\n" + SECTIONS["common"])[flag]
    assert f"| {flag} | {said} |" in TROUBLE


def test_the_example_is_the_demos_instrument() -> None:
    example = HOST / "river-boat.json"
    assert Instrument.read(example) == demo_scenario(1).instrument
    quoted = re.search(r"```json\n(.*?)```", (DOCS / "instrument-file.md").read_text(encoding="utf-8"), re.DOTALL)
    assert quoted and json.loads(quoted[1]) == json.loads(example.read_text(encoding="utf-8"))


def test_every_field_of_an_instrument_is_explained() -> None:
    page = (DOCS / "instrument-file.md").read_text(encoding="utf-8")
    example = json.loads((HOST / "river-boat.json").read_text(encoding="utf-8"))
    for field in [*example, *example["order"], *TuningOrder.__dataclass_fields__]:
        assert f"| `{field}` |" in page, f"instrument-file.md does not explain {field}"
    for name in TEMPERAMENTS:
        assert f'| `"{name}"` |' in page, f"instrument-file.md does not explain the temperament {name}"
