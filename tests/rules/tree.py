"""What the rules look at: the sources of firmware and host, and what each of them imports."""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]
FIRMWARE = ROOT / "firmware"
HOST = ROOT / "host" / "reedbench"
UNDER_HOST = HOST / "firmware"  # the same firmware again, by a link


class Import(NamedTuple):
    """One name that a source imports: "wire.frames" for `from wire import frames`, in that line."""

    line: int
    name: str


def firmware() -> list[Path]:
    """Every Python file of the firmware."""
    return sorted(FIRMWARE.rglob("*.py"))


def host() -> list[Path]:
    """Every Python file of the host, without the firmware it carries."""
    return sorted(path for path in HOST.rglob("*.py") if UNDER_HOST not in path.parents)


def shown(path: Path) -> str:
    """The path as a person would type it."""
    return path.relative_to(ROOT).as_posix()


@cache
def tree(path: Path) -> ast.Module:
    """The parsed source."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def module(path: Path) -> str:
    """Name a file is imported by: "wire.frames" in the firmware, "reedbench.link" on the host."""
    base = FIRMWARE if FIRMWARE in path.parents else HOST.parent
    parts = path.relative_to(base).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(path: Path) -> Iterator[Import]:
    """Everything `path` imports, wherever in the file, relative names made absolute."""
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            yield from (Import(node.lineno, alias.name) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            base = _absolute(path, node)
            yield from (Import(node.lineno, f"{base}.{alias.name}") for alias in node.names)


def _absolute(path: Path, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    package = module(path).split(".")
    if path.name != "__init__.py":
        package.pop()
    kept = package[: len(package) - node.level + 1]
    return ".".join([*kept, node.module] if node.module else kept)


def within(name: str, *rooms: str) -> bool:
    """Whether `name` is one of `rooms` or lies in one."""
    return any(name == room or name.startswith(room + ".") for room in rooms)


def reached(start: str) -> dict[str, tuple[str, ...]]:
    """Every module of the host that importing `start` (a module or a package) runs, with the way there."""
    known = {module(path): path for path in host()}
    ways = {name: (name,) for name in known if within(name, start)}
    waiting = list(ways)
    while waiting:
        name = waiting.pop()
        for there in imports(known[name]):
            for target in _run_by(there.name, known):
                if target not in ways:
                    ways[target] = (*ways[name], target)
                    waiting.append(target)
    return ways


def _run_by(name: str, known: dict[str, Path]) -> list[str]:
    """Our modules that run when `name` is imported: itself and the packages around it."""
    parts = name.split(".")
    return [start for end in range(1, len(parts) + 1) if (start := ".".join(parts[:end])) in known]
