"""The names that `reedbench.slim` takes MicroPython to have are those that a board finds in its own modules."""

import contextlib
from collections.abc import Callable
from typing import Any

import pytest
from reedbench.prompt import at_prompt
from reedbench.slim.there import THERE

MODULES = """
_asyncio _onewire _rp2 _thread array asyncio asyncio.core asyncio.event asyncio.funcs asyncio.lock asyncio.stream
binascii builtins cmath collections cryptolib deflate dht ds18x20 errno framebuf gc hashlib heapq io json machine math
micropython neopixel onewire os platform random re rp2 select struct sys time uasyncio uctypes vfs
"""
SCRIPT = """
name = %r
module = __import__(name)
for part in name.split(".")[1:]:
    module = getattr(module, part)
found = set(name.split("."))
for name in dir(module):
    found.add(name)
    try:
        inner = getattr(module, name)
    except AttributeError:  # asyncio's parts that are loaded when they are asked for
        continue
    if isinstance(inner, type):
        found.update(dir(inner))
for name in found:
    print(repr(name))
"""


@pytest.mark.timeout(300)
def test_a_board_knows_them(start: Callable[..., Any]) -> None:
    with contextlib.closing(start({})) as board, at_prompt(board.port) as prompt:
        told = {name for module in MODULES.split() for name in prompt.run(SCRIPT % module)}
    ours = {name for name in told if len(name) > 1 and not name.startswith("_") and name.isidentifier()}
    assert not (ours ^ THERE), f"only there: {sorted(ours - THERE)}, only here: {sorted(THERE - ours)}"
