"""What a board need not carry: constants, what only the host calls, long private names. The code does the same."""

import ast
from typing import Any

import pytest
from reedbench.image import slimmed, sources
from reedbench.slim import slim
from reedbench.slim.there import LOOKED_FOR, THERE

SOURCES = {
    "meter/size": '''
from wire.codes import BITS
ROOM = (1 << BITS) - 2
LOW, HIGH = 3, -ROOM
STEPS = range(4)
GROWN = 1
GROWN += 1
_HIDDEN = 2.5
KIND = "kind"
''',
    "wire/codes": '''
BITS = 4
NAMES = ("one", "two")

def for_the_host(code):
    return also_for_the_host(code)

def also_for_the_host(code):
    return NAMES[code]
''',
    "start": '''
from meter import size
from meter.size import GROWN, LOW

_found = 0

def _helped(number, *, by):
    return number + by + _found

def _kept_by_its_text():
    return 1

class Base:
    def __init__(self, value):
        self._value = value
        self.shown = self._doubled()

    def _doubled(self):
        return 2 * self._value

class Meter(Base):
    def __init__(self, value):
        super().__init__(value)
        self._other = [value for value in range(3)]

    def told(self, values):
        inner = lambda values: values + len(self._other)
        return inner(sum(values)) + self._value + self.shown

def main(first, second=2):
    global _found
    _found = size.ROOM
    return [size.KIND,
        LOW, size.HIGH, GROWN, _helped(first, by=second), Meter(first).told([first, second]), "_kept_by_its_text"]
''',
}  # fmt: skip


def defined(text: str) -> set[str]:
    """Functions, methods and classes that it defines."""
    kinds = ast.FunctionDef | ast.ClassDef
    return {node.name for node in ast.walk(ast.parse(text)) if isinstance(node, kinds)}


def run(texts: dict[str, str]) -> Any:
    """What `main` gives, with the modules as they stand in `texts`."""
    import sys
    import types

    kept = {name: sys.modules.pop(name, None) for name in ("meter", "wire", "meter.size", "wire.codes")}
    try:
        for name in ("wire", "meter"):
            sys.modules[name] = types.ModuleType(name)
        for name in ("wire/codes", "meter/size"):
            module = types.ModuleType(name.replace("/", "."))
            sys.modules[module.__name__] = module
            setattr(sys.modules[name.partition("/")[0]], name.partition("/")[2], module)
            exec(texts[name], module.__dict__)
        start: dict[str, Any] = {}
        exec(texts["start"], start)
        return start["main"](5)
    finally:
        for name, module in kept.items():
            if module is None:
                sys.modules.pop(name, None)
            else:
                sys.modules[name] = module


@pytest.fixture(scope="module")
def small() -> dict[str, str]:
    return slim(SOURCES, "main")


def test_it_does_the_same(small: dict[str, str]) -> None:
    assert run(small) == run(SOURCES) == ["kind", 3, -14, 2, 21, 7 + 3 + 5 + 10, "_kept_by_its_text"]


def test_constants_are_values_where_they_were_named(small: dict[str, str]) -> None:
    for name in ("BITS", "ROOM", "LOW", "HIGH", "_HIDDEN", "KIND"):
        assert not any(name in text for text in small.values()), name
    assert " += 1" in small["meter/size"], "what changes is no constant"
    assert "-14" in small["start"] and "size" not in small["start"].replace("meter.size", "")


def test_what_nobody_on_the_board_calls_is_gone(small: dict[str, str]) -> None:
    assert "for_the_host" not in small["wire/codes"] and "NAMES" not in small["wire/codes"]
    assert "def _kept_by_its_text" in small["start"], "a text may be what it is asked for by"


def test_what_others_come_to_stays() -> None:
    kept = slim(SOURCES, "main", {"meter/size"})
    assert all(name in kept["meter/size"] for name in ("ROOM", "LOW", "HIGH", "STEPS"))
    assert run(kept) == run(SOURCES)


def test_names_of_ours_become_ones_that_the_board_has(small: dict[str, str]) -> None:
    found = names_in(small) | defined(small["start"])
    assert not found & {"_helped", "_found", "_doubled", "_value", "_other", "second", "value", "number"}
    assert not found & {"told", "shown", "GROWN"}, "names that others come to as well"
    assert {"by", "main", "_kept_by_its_text"} <= found, "what a call, a text or somebody outside names"
    assert defined(small["start"]) - {"main", "__init__", "_kept_by_its_text"} <= THERE - LOOKED_FOR


def test_what_modules_have_in_common_goes_by_one_name_in_all(small: dict[str, str]) -> None:
    """GROWN of one module, which another takes from it by its name."""
    imported = next(node for node in ast.walk(ast.parse(small["start"])) if isinstance(node, ast.ImportFrom))
    assert [alias.name for alias in imported.names] == [small["meter/size"].partition(" += 1")[0].split()[-1]]


def test_what_micropython_calls_the_same_keeps_its_name() -> None:
    text = "class Pen:\n    def append(self, on):\n        return [on].append(on)\n\n"
    text += "def main():\n    return Pen().append(3)\n"
    assert slim({"start": text}, "main")["start"].count(".append") == 2


def test_a_name_put_together_of_texts_is_still_found() -> None:
    text = "class Desk:\n    def on_call(self):\n        return 7\n\n    def one(self, name):\n"
    text += "        return getattr(self, 'on_' + name)()\n\ndef main():\n    return Desk().one('call')\n"
    start: dict[str, Any] = {}
    exec(slim({"start": text}, "main")["start"], start)
    assert start["main"]() == 7


def test_what_is_one_modules_alone_is_named_anew_unless_asked_for(small: dict[str, str]) -> None:
    assert not {"Base", "Meter"} & defined(small["start"])
    kept = slim(SOURCES, "main", asked={"Meter"})
    assert "Meter" in defined(kept["start"]) and "Base" not in defined(kept["start"])
    assert run(kept) == run(SOURCES)


def test_those_that_inherit_share_their_names() -> None:
    text = "class A:\n    def __init__(self):\n        self._first = 1\n\nclass B(A):\n    def put(self):\n"
    text += "        self._second = 2\n        return self._first + self._second\n\ndef main():\n    return B().put()\n"
    small = slim({"start": text}, "main")["start"]
    assert "_first" not in small and "_second" not in small
    start: dict[str, Any] = {}
    exec(small, start)
    assert start["main"]() == 3, "two attributes of one object did not come to share a name"


def test_an_attribute_of_another_object_is_found_there() -> None:
    text = "class A:\n    def __init__(self):\n        self._open = 1\n\ndef main():\n    return A()._open\n"
    start: dict[str, Any] = {}
    exec(slim({"start": text}, "main")["start"], start)
    assert start["main"]() == 1


def test_registers_of_the_assembler_are_not_renamed() -> None:
    names = {node.arg for node in ast.walk(ast.parse(slimmed(sources())["meter/thumb"])) if isinstance(node, ast.arg)}
    assert names and names <= {"r0", "r1", "r2", "r3"}


def test_the_firmware_keeps_few_names_of_its_own() -> None:
    """Of its functions, classes and attributes less than a quarter: what each costs stands in docs/accuracy.md."""
    before, after = (len(given(texts) - THERE) for texts in (read(), slimmed(sources())))
    assert after < before / 4, f"{after} of {before} names"


def given(texts: dict[str, str]) -> set[str]:
    """Functions, classes, methods and attributes, but those that MicroPython itself looks for."""
    nodes = [node for text in texts.values() for node in ast.walk(ast.parse(text))]
    named = {node.attr for node in nodes if isinstance(node, ast.Attribute)}.union(*map(defined, texts.values()))
    return {name for name in named if not name.startswith("__")}


def read() -> dict[str, str]:
    return {name: path.read_text(encoding="utf-8") for name, path in sources().items()}


def names_in(texts: dict[str, str]) -> set[str]:
    nodes = [node for text in texts.values() for node in ast.walk(ast.parse(text))]
    return {
        name
        for node in nodes
        for name in (getattr(node, "id", None), getattr(node, "attr", None), getattr(node, "arg", None))
        if isinstance(name, str)
    }
