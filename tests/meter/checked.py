"""The firmware's integer loops in CPython, with every intermediate checked against the board's 32-bit words.

On a PC viper's integers have 64 bits, so that a sum too large for the board would go unnoticed there.
"""

import ast
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

METER = Path(__file__).parents[2] / "firmware" / "meter"
WORD, HALF = 2**31, 2**15


class TooLarge(ArithmeticError):
    """An intermediate, an index or a stored number does not fit."""


def fits(value: Any, where: str) -> Any:
    """The value, which must fit a word; what is no number passes."""
    if isinstance(value, int) and not -WORD <= value < WORD:
        raise TooLarge(f"{where} = {value / WORD:.3f} * 2^31")
    return value


class Pointer:
    """ptr16 or ptr32 into a list of signed numbers; a sign extension after the load is nothing to do."""

    def __init__(self, numbers: Any, half: bool) -> None:
        self.numbers, self.most = numbers, HALF if half else WORD

    def __getitem__(self, place: int) -> int:
        if not 0 <= place < len(self.numbers):
            raise TooLarge(f"index {place} of {len(self.numbers)}")
        return int(self.numbers[place])

    def __setitem__(self, place: int, value: int) -> None:
        if not 0 <= place < len(self.numbers) or not -self.most <= value < self.most:
            raise TooLarge(f"storing {value} at {place} of {len(self.numbers)}")
        self.numbers[place] = value


class Check(ast.NodeTransformer):
    """Wraps every arithmetic step of a function in `fits` and takes the sign extensions out."""

    def __init__(self, name: str) -> None:
        self.name = name

    def wrapped(self, node: ast.expr, source: str) -> ast.expr:
        where = ast.Constant(f"{self.name}: {source}")
        return ast.copy_location(ast.Call(ast.Name("fits", ast.Load()), [node, where], []), node)

    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        source = ast.unparse(node)
        if isinstance(node.op, ast.RShift) and ast.unparse(node.right).startswith("extend"):
            assert isinstance(node.left, ast.BinOp)
            loaded: ast.expr = self.visit(node.left.left)
            return loaded
        self.generic_visit(node)
        return self.wrapped(node, source)

    def visit_AugAssign(self, node: ast.AugAssign) -> ast.stmt:
        assert isinstance(node.target, ast.Name)
        sum_of = ast.BinOp(ast.Name(node.target.id, ast.Load()), node.op, self.visit(node.value))
        value = self.wrapped(ast.copy_location(sum_of, node), ast.unparse(node))
        return ast.copy_location(ast.Assign([node.target], value), node)


def loops(file: str, **called: Callable[..., Any]) -> dict[str, Callable[..., Any]]:
    """The viper functions of a module of the meter, checked, by name. Arrays are given as lists.

    called: those of other modules that they call.
    """
    found = {}
    for node in ast.parse((METER / file).read_text(encoding="utf-8")).body:
        if isinstance(node, ast.FunctionDef) and node.decorator_list:
            kinds = [ast.unparse(argument.annotation) for argument in node.args.args if argument.annotation]
            node.decorator_list, node.returns = [], None
            for argument in node.args.args:
                argument.annotation = None
            module = ast.fix_missing_locations(ast.Module([Check(node.name).visit(node)], []))
            space = {
                "fits": fits,
                "EXTEND": 0,
                "EXTEND16": 0,
                "ptr32": lambda numbers: Pointer(numbers, False),
                **called,
            }
            exec(compile(module, file, "exec"), space)
            found[node.name] = _called(space[node.name], kinds)
    return found


def _called(loop: Any, kinds: Sequence[str]) -> Callable[..., Any]:
    def call(*values: Any) -> Any:
        return loop(
            *(Pointer(v, k == "ptr16") if k.startswith("ptr") else v for v, k in zip(values, kinds, strict=True))
        )

    return call
