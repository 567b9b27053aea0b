"""The only module that writes to the terminal: results to stdout, everything about them to stderr."""

import json
import sys
import unicodedata
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any

# Controls, invisible format characters (among them the bidirectional overrides), surrogates, separators.
_UNSAFE = frozenset(("Cc", "Cf", "Cs", "Zl", "Zp"))


_quiet = False


def clean(text: str) -> str:
    """`text` on one line, without anything that could move the cursor, recolour or reorder what is shown.

    Names come from meters, files and command lines; a terminal must not obey what they contain.
    """
    spaced = (" " if sign in "\n\r\t\u2028\u2029" else sign for sign in text)
    return "".join(sign for sign in spaced if unicodedata.category(sign) not in _UNSAFE)


def report(data: Mapping[str, Any] | Sequence[Any], lines: Iterable[str], as_json: bool) -> None:
    """Print a command's result: `data` as JSON, or `lines` for people."""
    if as_json:
        # ASCII keeps every control and override character escaped; only DEL has to be escaped here.
        print(json.dumps(data, ensure_ascii=True, allow_nan=False, indent=2).replace("\x7f", "\\u007f"))
        return
    for line in lines:
        print(clean(line))


def say(line: str) -> None:
    """One line about what went wrong, to stderr."""
    print(f"reedbench: {clean(line)}", file=sys.stderr)


def note(line: str) -> None:
    """One line about the work, to stderr, unless quiet was asked for."""
    if not _quiet:
        say(line)


def be_quiet(quiet: bool) -> None:
    """Whether notes and progress are kept back from here on."""
    global _quiet
    _quiet = quiet


def pass_on(text: str) -> None:
    """Print `text` that is meant for another program as it is, such as a script or CSV."""
    sys.stdout.write(text)


def columns(rows: Sequence[Sequence[str]]) -> list[str]:
    """`rows` of cells, the heads first, as lines of aligned columns; figures stand to the right."""
    lined = []
    for column in zip(*([clean(cell) for cell in row] for row in rows), strict=True):
        width = max(len(cell) for cell in column)
        figures = all(_is_figure(cell) for cell in column[1:])
        lined.append([cell.rjust(width) if figures else cell.ljust(width) for cell in column])
    return ["  ".join(row).rstrip() for row in zip(*lined, strict=True)]


def clipped(text: str, width: int) -> str:
    """`text` in at most `width` characters, with an ellipsis where some are missing."""
    text = clean(text)
    return text if len(text) <= width else text[: max(0, width - 1)].rstrip() + "\u2026"


def _is_figure(cell: str) -> bool:
    return cell == "-" or cell.lstrip("+-\u2212").replace(".", "", 1).isdigit()


@contextmanager
def progress(what: str, total: int) -> Iterator[Callable[[int], None]]:
    """Shows "`what` 120 of 400" on one line of stderr while the block runs, if that is a terminal."""
    shown = sys.stderr.isatty() and not _quiet

    def step(done: int) -> None:
        if shown:
            sys.stderr.write(f"\r\x1b[K{clean(what)} {done} of {total}")
            sys.stderr.flush()

    try:
        yield step
    finally:
        if shown:
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
