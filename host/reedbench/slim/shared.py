"""Names that modules come to each other by, and attributes that others read, made names that MicroPython has anyway.

A name that one of our modules gives and MicroPython has not can only be ours, wherever it stands: so it becomes another
one everywhere at once. It stays where a text may find it (`getattr`), where a call names an argument by it, where it is
a module's or somebody outside asks for it.
"""

import ast
from collections.abc import Iterator, Set

from reedbench.slim.constants import Modules
from reedbench.slim.there import FREE, THERE

_Named = ast.FunctionDef | ast.ClassDef


def rename(modules: Modules, whole: Set[str], asked: Set[str]) -> None:
    """Renames in all modules, in place, but nothing that modules that are `whole` give, and nothing `asked` for.

    Where MicroPython's own names run out the rest keep theirs.
    """
    nodes = [node for module in modules.values() for node in ast.walk(module)]
    texts = {node.value for node in nodes if isinstance(node, ast.Constant) and isinstance(node.value, str)}
    begun = tuple(text for text in texts if text.isidentifier() and text.endswith("_"))  # "on_" + name
    stay = texts | asked | THERE | {part for path in modules for part in path.split("/")}
    stay |= {node.arg for node in nodes if isinstance(node, ast.keyword) and node.arg}
    stay |= {name for path in modules.keys() & whole for name in _given(modules[path])}
    given = {name for module in modules.values() for name in _given(module)} - stay
    ours = sorted(name for name in given if len(name) > 2 and not name.startswith("__") and not name.startswith(begun))
    used = {name for node in nodes for _, name in _names(node)} | texts
    new = dict(zip(ours, (name for name in FREE if name not in used), strict=False))
    for node in nodes:
        for field, name in list(_names(node)):
            if name in new:
                setattr(node, field, new[name])
        if isinstance(node, ast.Global | ast.Nonlocal):
            node.names = [new.get(name, name) for name in node.names]


def _given(module: ast.Module) -> Iterator[str]:
    """Functions, classes and methods, values of the module and of classes, attributes that anything is given."""
    for node in ast.walk(module):
        if isinstance(node, _Named):
            yield node.name
        elif isinstance(node, ast.Attribute) and not isinstance(node.ctx, ast.Load):
            yield node.attr
    classes = [node for node in ast.walk(module) if isinstance(node, ast.ClassDef)]
    for body in (module.body, *(cls.body for cls in classes)):
        for statement in body:
            if not isinstance(statement, _Named):
                for node in ast.walk(statement):
                    if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store):
                        yield node.id


def _names(node: ast.AST) -> Iterator[tuple[str, str]]:
    """Where a name stands in the node, and which."""
    for kind, field in _FIELDS:
        if isinstance(node, kind) and getattr(node, field):
            yield field, getattr(node, field)


_FIELDS: tuple[tuple[type[ast.AST], str], ...] = (
    (ast.Name, "id"),
    (ast.Attribute, "attr"),
    (ast.arg, "arg"),
    (ast.keyword, "arg"),
    (ast.FunctionDef, "name"),
    (ast.ClassDef, "name"),
    (ast.alias, "name"),
    (ast.alias, "asname"),
    (ast.ExceptHandler, "name"),
)
