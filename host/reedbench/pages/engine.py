"""The template engine of all pages, the bench sheet's styles included; escaping is always on."""

from functools import cache
from typing import Any

from jinja2 import ChoiceLoader, Environment, PackageLoader, StrictUndefined

from reedbench.surveys import day
from reedbench.words import signed


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=ChoiceLoader([PackageLoader("reedbench.pages"), PackageLoader("reedbench.sheet")]),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters |= {"signed": signed, "day": day}
    return environment


def render(template: str, **facts: Any) -> str:
    """The page that a template makes of `facts`, as text to be written in UTF-8."""
    return _environment().get_template(template).render(facts)
