"""Functions, classes and values of modules that nothing on the board asks for: only the host does."""

import ast
from collections.abc import Iterator, Set

from reedbench.slim.constants import Modules, targets


def drop(modules: Modules, entry: str, whole: Set[str]) -> None:
    """Takes out every function, class and plain value of a module whose name stands nowhere else, but `entry`.

    What stands in a text counts as named: it may be what an attribute is asked for by. Modules that are to stay `whole`
    lose nothing.
    """
    while True:
        named = {entry}
        for module in modules.values():
            for statement in module.body:
                named |= set(_names(statement)) - set(_defines(statement))
        gone = False
        for module in (modules[name] for name in modules.keys() - whole):
            stay = [one for one in module.body if not _defines(one) or named & set(_defines(one))]
            gone = gone or len(stay) < len(module.body)
            module.body = stay
        if not gone:
            return


def _defines(statement: ast.stmt) -> list[str]:
    """Names that it gives something to, and does nothing else."""
    if isinstance(statement, ast.FunctionDef | ast.ClassDef):
        return [statement.name]
    return [] if any(isinstance(node, ast.Call) for node in ast.walk(statement)) else targets(statement)


def _names(statement: ast.stmt) -> Iterator[str]:
    for node in ast.walk(statement):
        if isinstance(node, ast.Name):
            yield node.id
        elif isinstance(node, ast.Attribute):
            yield node.attr
        elif isinstance(node, ast.alias):
            yield node.name
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            yield node.value
