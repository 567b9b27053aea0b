"""Constants of modules, put as numbers or texts where they are used.

A constant is a name in capitals that a module gives a number or a text once, outside of any condition. Other modules
come to it by `from .module import NAME` or as `module.NAME`.
"""

import ast
import operator
import re
from collections.abc import Callable, Iterable, Mapping, Set
from typing import Any

Modules = Mapping[str, ast.Module]
_CAPITALS = re.compile(r"_?[A-Z][A-Z0-9_]*")
_SIGNS: dict[type[ast.unaryop], Callable[..., Any]] = {ast.USub: operator.neg, ast.Invert: operator.invert}
_OPERATORS: dict[type[ast.operator], Callable[..., Any]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.FloorDiv: operator.floordiv,
    ast.Mod: operator.mod,
    ast.Pow: operator.pow,
    ast.LShift: operator.lshift,
    ast.RShift: operator.rshift,
    ast.BitOr: operator.or_,
    ast.BitAnd: operator.and_,
}
_FUNCTIONS: dict[str, Callable[..., Any]] = {"len": len, "max": max, "min": min, "range": range}


def fold(modules: Modules, whole: Set[str]) -> None:
    """Puts every constant that is a number or a text in the place of its name, in all modules.

    Its definition goes, but from modules that are to stay `whole`.
    """
    known: dict[str, dict[str, Any]] = {name: {} for name in modules}
    while _learn(modules, known):  # one may be made of another module's
        pass
    for name, module in modules.items():
        _Values(_seen_from(name, module, known), _modules_in(name, module, known)).visit(module)
    for name, module in modules.items():
        _forget_imports(name, module, known)
    wanted = {node.attr for module in modules.values() for node in ast.walk(module) if isinstance(node, ast.Attribute)}
    for name in modules.keys() - whole:
        module = modules[name]
        gone = known[name].keys() - wanted
        module.body = [stay for stay in module.body if not targets(stay) or not set(targets(stay)) <= gone]


def _learn(modules: Modules, known: dict[str, dict[str, Any]]) -> bool:
    """Whether a constant was found that had not been `known`."""
    before = sum(map(len, known.values()))
    for name, module in modules.items():
        once = _assigned_once(module)
        for statement in module.body:
            names = targets(statement)
            if not names or not all(_CAPITALS.fullmatch(one) and one in once for one in names):
                continue
            assert isinstance(statement, ast.Assign)
            value = _value(statement.value, _seen_from(name, module, known))
            values = [value] if isinstance(statement.targets[0], ast.Name) else list(value or ())
            if values and all(type(one) in (int, float, str) for one in values):
                known[name].update(zip(names, values, strict=True))
    return sum(map(len, known.values())) > before


def targets(statement: ast.stmt) -> list[str]:
    """Names that an assignment of the simplest form gives values to."""
    if not isinstance(statement, ast.Assign) or len(statement.targets) != 1:
        return []
    target = statement.targets[0]
    names = target.elts if isinstance(target, ast.Tuple) else [target]
    found = [name.id for name in names if isinstance(name, ast.Name)]
    return found if len(found) == len(names) else []


def _assigned_once(module: ast.Module) -> set[str]:
    stored = [n.id for n in ast.walk(module) if isinstance(n, ast.Name) and not isinstance(n.ctx, ast.Load)]
    stored += [arg.arg for arg in ast.walk(module) if isinstance(arg, ast.arg)]
    return {name for name in stored if stored.count(name) == 1}


def _value(node: ast.expr, seen: Mapping[str, Any]) -> Any:
    """What an expression comes to that is made of values and of constants that are `seen`; None for any other."""
    if isinstance(node, ast.Constant):
        return node.value
    if isinstance(node, ast.Name):
        return seen.get(node.id)
    if isinstance(node, ast.Tuple):
        return _all(node.elts, seen)
    if isinstance(node, ast.UnaryOp) and type(node.op) in _SIGNS:
        do, parts = _SIGNS[type(node.op)], [node.operand]
    elif isinstance(node, ast.BinOp) and type(node.op) in _OPERATORS:
        do, parts = _OPERATORS[type(node.op)], [node.left, node.right]
    elif isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in _FUNCTIONS:
        do, parts = _FUNCTIONS[node.func.id], node.args
    else:
        return None
    values = _all(parts, seen)
    if values and isinstance(node, ast.BinOp) and isinstance(values[0], str):
        return None  # a text that is put together takes no less room
    return values and do(*values)


def _all(nodes: Iterable[ast.expr], seen: Mapping[str, Any]) -> list[Any] | None:
    values = [_value(node, seen) for node in nodes]
    return None if any(value is None for value in values) else values


def imported(name: str, module: ast.Module, modules: Mapping[str, Any]) -> list[tuple[ast.ImportFrom, str]]:
    """Each `from ... import` in the module of that name, with the path of what it takes from: a module or a package."""
    package = name.rpartition("/")[0]
    found = []
    for node in ast.walk(module):
        if isinstance(node, ast.ImportFrom):
            path = (node.module or "").replace(".", "/")
            found.append((node, "/".join(filter(None, (package, path))) if node.level else path))
    return found


def _seen_from(name: str, module: ast.Module, known: Mapping[str, Mapping[str, Any]]) -> dict[str, Any]:
    """Constants that the module knows by name: its own and those that it imports."""
    seen = dict(known[name])
    for node, path in imported(name, module, known):
        for alias in node.names:
            if alias.name in known.get(path, ()):
                seen[alias.asname or alias.name] = known[path][alias.name]
    return seen


def _modules_in(name: str, module: ast.Module, known: Mapping[str, Mapping[str, Any]]) -> dict[str, Mapping[str, Any]]:
    """Constants of the modules that it knows by name."""
    return {
        alias.asname or alias.name: known[f"{path}/{alias.name}"]
        for node, path in imported(name, module, known)
        for alias in node.names
        if f"{path}/{alias.name}" in known and node in module.body
    }


def _forget_imports(name: str, module: ast.Module, known: Mapping[str, Mapping[str, Any]]) -> None:
    for node, path in imported(name, module, known):
        node.names = [alias for alias in node.names if alias.name not in known.get(path, ())]
    left = {node.id for node in ast.walk(module) if isinstance(node, ast.Name)}
    for node, path in imported(name, module, known):
        if node in module.body:  # modules of which only constants were wanted
            node.names = [a for a in node.names if f"{path}/{a.name}" not in known or (a.asname or a.name) in left]
    _Emptied().visit(module)


class _Emptied(ast.NodeTransformer):
    def visit_ImportFrom(self, node: ast.ImportFrom) -> ast.ImportFrom | None:
        return node if node.names else None


class _Values(ast.NodeTransformer):
    def __init__(self, seen: Mapping[str, Any], modules: Mapping[str, Mapping[str, Any]]) -> None:
        self._seen, self._modules = seen, modules

    def visit_Name(self, node: ast.Name) -> ast.expr:
        if isinstance(node.ctx, ast.Load) and node.id in self._seen:
            return _written(self._seen[node.id])
        return node

    def visit_Attribute(self, node: ast.Attribute) -> ast.expr:
        if isinstance(node.value, ast.Name) and node.attr in self._modules.get(node.value.id, ()):
            return _written(self._modules[node.value.id][node.attr])
        self.generic_visit(node)
        return node


def _written(value: Any) -> ast.expr:
    negative = not isinstance(value, str) and value < 0
    return ast.UnaryOp(ast.USub(), ast.Constant(-value)) if negative else ast.Constant(value)
