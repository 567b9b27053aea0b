"""The settings and their values, and the page about the meter."""

from . import logic
from .lists import list_view
from .logic import say


def view(mode):
    """The screen of a meter.setup.Mode."""
    if mode.trial:
        return _trial_view(mode.trial)
    if mode.facts:
        return _about_view(mode)
    settings = mode.settings
    rows = [
        ("language", say("languages")[settings.language]),
        ("notes", say("note names")[settings.german_notes]),
        ("signs", "b" if settings.flats else "#"),
        ("reference", say("hertz") % (settings.reference_mhz / 1000)),
        ("tolerance", say("spread") % ("%.1f" % (settings.tolerance_cc / 100))),
        ("brightness", "%d" % settings.brightness),
        ("dim", _minutes(settings.dim_min)),
        ("off", _minutes(settings.off_min)),
        ("sleep", _minutes(settings.sleep_min)),
        ("turned", say("yes" if settings.turned else "no")),
        ("about", ""),
    ]
    rows = [(say(name), value) for name, value in rows]
    return list_view(say("setup"), rows, mode.chosen, say("changing" if mode.changing else "choosing"))


def _minutes(number):
    return say("minutes") % number if number else say("never")


def _trial_view(trial):
    """Parts as they answered, and the keys that have been pressed; or that are down, one that is stuck perhaps."""
    display, microphone, flash, level, keys, down = trial
    title, shown, heard, kept, pressed, held = say("trial page")
    names = dict(zip(("up", "down", "do"), say("key names")))
    lines = (
        shown % _works(display),
        heard % (say("level") % (level / 100) if microphone else _works(False)),
        kept % _works(flash),
        (held if down else pressed) % " ".join([names[key] for key in down or keys]),
    )
    return logic.message_view(title, lines)


def _works(part):
    return say("works" if part else "faulty")


def _about_view(mode):
    heap, room, records, cell_mv, ppb = mode.facts
    cell = say("usb") if cell_mv is None else "%.2f V" % (cell_mv / 1000)
    title, firmware, memory, kept, supply = say("about page")
    lines = (
        firmware % mode.meter.firmware,
        memory % (heap // 1000, room // 1000),
        kept % records,
        supply % (cell, ppb / 1000),
    )
    return logic.message_view(title, lines)
