"""The template engine of every page: escaping is always on, and what a template does not get is an error."""

import builtins
from collections.abc import Callable

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

from reedbench.sheet.traced import linked, stands_on


class _Strict(Environment):
    """Templates that come to attributes as Python does: what an object does not have is looked for nowhere else."""

    getattr = staticmethod(builtins.getattr)  # type: ignore[assignment]  # thousands of times on a page


def environment(*packages: str, **filters: Callable[..., str]) -> Environment:
    """Templates of these packages, the first that has one of a name, with filters by name."""
    made = _Strict(
        loader=ChoiceLoader([PackageLoader(package) for package in packages]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,  # they are part of the program
    )
    made.filters |= filters
    made.globals |= {"linked": linked, "stands_on": stands_on}
    return made
