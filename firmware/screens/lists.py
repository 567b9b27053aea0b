"""Lists to choose from."""

from .view import View

ROWS = 4  # lines of a list that fit


def list_view(title, rows, chosen, aside=""):
    """A title, `aside` at its other end, and as many `rows`, (text, value), as fit around the one that is `chosen`."""
    first = max(0, min(chosen - 1, len(rows) - ROWS))
    lines = [("title", title), ("state", aside)]
    for place, (text, value) in enumerate(rows[first : first + ROWS]):
        lines += (("chosen" if first + place == chosen else "row", text), ("value", value))
    return View("list", lines)
