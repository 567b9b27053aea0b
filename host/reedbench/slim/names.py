"""Private names made others', and the same ones everywhere: each takes memory once, however many stand for it, and
those that MicroPython itself has take none.

Arguments are private to each function, functions, classes and values to the module that alone names them, attributes
that begin with an underscore to their class and those that inherit from one another. A name that somebody else might
come to keeps its own: an argument that any call names, a private attribute of anything but `self`, a name that stands
in a text.
"""

import ast
from collections import defaultdict
from collections.abc import Iterable, Iterator, Set
from itertools import count

from reedbench.slim.constants import Modules
from reedbench.slim.there import FREE

_Function = ast.FunctionDef | ast.Lambda
_LETTERS = "abcdefghijklmnopqrstuvwxyz"


def shorten(modules: Modules, whole: Set[str], asked: Set[str]) -> None:
    """Renames in all modules, in place, but no function, class or value of those that are `whole` or that is `asked`
    for."""
    nodes = [node for module in modules.values() for node in ast.walk(module)]
    texts = {n.value for n in nodes if isinstance(n, ast.Constant) and isinstance(n.value, str)}
    spoken = {n.arg for n in nodes if isinstance(n, ast.keyword) and n.arg}
    reached = {n.name for n in nodes if isinstance(n, ast.alias)}
    reached |= {n.attr for n in nodes if isinstance(n, ast.Attribute) and not _is_self(n.value)}
    _attributes(modules, texts)
    for path, module in modules.items():
        if path not in whole:
            _globals(module, texts | reached | asked)
        for node in ast.walk(module):
            if isinstance(node, ast.FunctionDef) and not _in_assembler(node):
                _arguments(node, spoken)


def _private(name: str) -> bool:
    return len(name) > 2 and name.startswith("_") and not name.startswith("__")


def _short(taken: Iterable[str], letters: str = _LETTERS) -> Iterator[str]:
    """Names that are there anyway, then those of one letter, of two, and so on, but none that is `taken`."""
    taken = set(taken)
    yield from (name for name in FREE if name not in taken)
    for length in count(1):
        for number in range(len(letters) ** length):
            name = ""
            for _ in range(length):
                number, place = divmod(number, len(letters))
                name += letters[place]
            if name not in taken and name not in ("as", "if", "in", "is", "or", "do"):
                yield name


def _arguments(function: ast.FunctionDef, spoken: set[str]) -> None:
    """The arguments of a function, where nothing within it takes the same name for something else."""
    inner: set[str] = set()
    for node in ast.walk(function):
        if isinstance(node, _Function) and node is not function:
            inner |= {arg.arg for arg in _all_arguments(node)}
    names = {node.id for node in ast.walk(function) if isinstance(node, ast.Name)}
    arguments = _all_arguments(function)
    own = {arg.arg for arg in arguments}
    new = _short(names | inner | spoken | own)
    for arg in arguments:
        if arg.arg == "self" or arg.arg in inner | spoken or len(arg.arg) == 1:
            continue
        old, arg.arg = arg.arg, next(new)
        for node in [inside for part in function.body for inside in ast.walk(part)]:
            if isinstance(node, ast.Name) and node.id == old:
                node.id = arg.arg


def _in_assembler(function: ast.FunctionDef) -> bool:
    """Whether its arguments are registers."""
    return any(isinstance(made, ast.Attribute) and made.attr.startswith("asm") for made in function.decorator_list)


def _all_arguments(function: _Function) -> list[ast.arg]:
    every = function.args
    return [*every.posonlyargs, *every.args, *every.kwonlyargs]


def _globals(module: ast.Module, keep: set[str]) -> None:
    """The functions, classes and values of a module that are nobody else's."""
    defined = {node.name for node in module.body if isinstance(node, ast.FunctionDef | ast.ClassDef)}
    values = [node for node in module.body if not isinstance(node, ast.FunctionDef | ast.ClassDef)]
    defined |= {name for statement in values for name in _stored(statement)}
    locals_ = _locals(module)
    every = {node.id for node in ast.walk(module) if isinstance(node, ast.Name)} | locals_
    new = _short(every | defined, _LETTERS.upper())
    ours = sorted(name for name in defined - locals_ - keep if len(name) > 1 and not name.startswith("__"))
    renamed = {name: next(new) for name in ours}
    for node in ast.walk(module):
        if isinstance(node, ast.Name):
            node.id = renamed.get(node.id, node.id)
        elif isinstance(node, ast.Global):
            node.names = [renamed.get(name, name) for name in node.names]
    for node in module.body:
        if isinstance(node, ast.FunctionDef | ast.ClassDef):
            node.name = renamed.get(node.name, node.name)


def _locals(module: ast.Module) -> set[str]:
    """Names that any function or class of the module has of its own."""
    found: set[str] = set()
    for node in ast.walk(module):
        if isinstance(node, ast.FunctionDef):
            ours = {name for one in ast.walk(node) if isinstance(one, ast.Global) for name in one.names}
            found |= set(_stored(node)) - ours
        if isinstance(node, _Function):
            found |= {arg.arg for arg in _all_arguments(node)}
        if isinstance(node, ast.ClassDef):
            found |= _in_body(node)
    return found


def _stored(within: ast.AST) -> Iterator[str]:
    """Names that are given something."""
    for node in ast.walk(within):
        if isinstance(node, ast.Name) and not isinstance(node.ctx, ast.Load):
            yield node.id


def _in_body(cls: ast.ClassDef) -> set[str]:
    """Names that the body of a class itself gives something to."""
    return {name for one in cls.body if isinstance(one, ast.Assign) for name in _stored(one)}


def _attributes(modules: Modules, texts: set[str]) -> None:
    """Private attributes and methods, in each family of classes."""
    classes = [n for module in modules.values() for n in ast.walk(module) if isinstance(n, ast.ClassDef)]
    attributes = [n for module in modules.values() for n in ast.walk(module) if isinstance(n, ast.Attribute)]
    of_self = {id(n) for cls in classes for n in ast.walk(cls) if isinstance(n, ast.Attribute) and _is_self(n.value)}
    seen = {node.attr for node in attributes if id(node) not in of_self}
    keep = seen.union(texts, *map(_in_body, classes))
    every = {node.attr for node in attributes}
    for family in _families(classes):
        members = [node for cls in family for node in ast.walk(cls)]
        ours = {n.attr for n in members if isinstance(n, ast.Attribute) and _is_self(n.value)}
        ours |= {n.name for cls in family for n in cls.body if isinstance(n, ast.FunctionDef)}
        new = _short(every)
        renamed = {name: next(new) for name in sorted(ours) if _private(name) and name not in keep}
        for node in members:
            if isinstance(node, ast.Attribute) and _is_self(node.value):
                node.attr = renamed.get(node.attr, node.attr)
        for cls in family:
            for method in cls.body:
                if isinstance(method, ast.FunctionDef):
                    method.name = renamed.get(method.name, method.name)


def _is_self(node: ast.expr) -> bool:
    return isinstance(node, ast.Name) and node.id == "self"


def _families(classes: list[ast.ClassDef]) -> list[list[ast.ClassDef]]:
    """Classes that may share an object, by the names of what they inherit from."""
    family = {cls.name: {cls.name} for cls in classes}
    for cls in classes:
        for base in cls.bases:
            name = base.attr if isinstance(base, ast.Attribute) else getattr(base, "id", "")
            if name in family:
                joined = family[cls.name] | family[name]
                for one in joined:
                    family[one] = joined
    found: dict[tuple[str, ...], list[ast.ClassDef]] = defaultdict(list)
    for cls in classes:
        found[tuple(sorted(family[cls.name]))].append(cls)
    return list(found.values())
