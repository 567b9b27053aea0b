"""The firmware's sources made smaller for a board, which keeps all its code in the memory that it measures in.

Names are what costs: each that is not built into MicroPython lies in memory once, with its place in a table, and each
module's own take another place there. So constants become the values that they are, what nobody on the board calls
goes, private names become ones that functions and classes share, and all become ones that MicroPython has in any case.
What the code does stays the same.
"""

import ast
from collections.abc import Mapping, Set

from reedbench.slim.constants import fold
from reedbench.slim.names import shorten
from reedbench.slim.shared import rename
from reedbench.slim.unused import drop


def slim(
    sources: Mapping[str, str], entry: str, whole: Set[str] = frozenset(), asked: Set[str] = frozenset()
) -> dict[str, str]:
    """`sources` by module path ("meter/pitch"), smaller.

    entry: the function that starts them.
    whole: modules to whose constants others come, and which keep all that they define.
    asked: names of functions, classes and values that others come to as well.
    """
    modules = {name: ast.parse(text) for name, text in sources.items()}
    fold(modules, whole)
    drop(modules, entry, whole)
    shorten(modules, whole, asked | {entry})
    rename(modules, whole, asked | {entry})
    return {name: ast.unparse(module) + "\n" for name, module in modules.items()}
