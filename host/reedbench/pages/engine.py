"""Pages from their templates, which use the bench sheet's style too."""

from functools import cache
from typing import Any

from jinja2 import Environment

from reedbench.sheet.engine import environment
from reedbench.surveys import after_pass, day
from reedbench.words import signed


@cache
def _environment() -> Environment:
    return environment("reedbench.pages", "reedbench.sheet", signed=signed, day=day, after_pass=after_pass)


def render(template: str, **facts: Any) -> str:
    """The page that a template makes of `facts`, as text to be written in UTF-8."""
    return _environment().get_template(template).render(facts)
