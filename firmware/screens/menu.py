"""The opening page: what can be done, and with which instrument."""

from .lists import list_view
from .logic import say


def view(mode):
    """The screen of a meter.menu.Mode."""
    rows = [(say(entry), "") for entry in mode.entries]
    return list_view(say("menu"), rows, mode.chosen, mode.name or say("none"))
