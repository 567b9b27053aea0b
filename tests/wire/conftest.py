"""Runs one case on CPython, which the host has, and on MicroPython, which the meter has."""

import json
import sys
from collections.abc import Callable
from importlib import import_module
from pathlib import Path
from typing import Any

import pytest

FIRMWARE = Path(__file__).parents[2] / "firmware"

# The cases say `from wire import frames`, as the meter does; last on the path, where it can hide nothing.
sys.path.append(str(FIRMWARE))


@pytest.fixture(params=["cpython", "micropython"])
def case(request: pytest.FixtureRequest, micropython: Callable[..., Any]) -> Callable[..., Any]:
    """Function that calls "module.function" with plain values, on either interpreter; the result passes as JSON."""

    def on_cpython(name: str, *values: Any) -> Any:
        module, function = name.split(".")
        result = getattr(import_module(module), function)(*json.loads(json.dumps(values)))
        return json.loads(json.dumps(result))

    def on_micropython(name: str, *values: Any) -> Any:
        module = name.split(".")[0]
        # Values stand in the script itself: MicroPython's json takes a character beyond U+FFFF for two.
        return micropython(f"import {module}\nprint(json.dumps({name}(*{list(values)!r})))")

    return on_cpython if request.param == "cpython" else on_micropython
