"""What every mode's screens are made with: words of the language in use, figures, reeds' names, common pages.

A figure is shown with twice its random standard error (about 95 %), rounded up to a tenth of a cent.
"""

import math
import sys

from wire import record

from .view import View
from .words import Words

_speaking = ("en", "")  # language and mode
_text = None  # Words
_noticed = ("", None)  # the last notice and its View: its words are not kept


def speak(language, mode):
    """Chooses the screen's language, "en" or "de", and the mode whose words are wanted; first of all.

    Only the words in use stay in memory: modules of words are forgotten as soon as they are loaded.
    """
    global _speaking, _text, _noticed
    if (language, mode) != _speaking:
        _text = None
        _speaking, _text = (language, mode), Words("\n" + _section("common", language) + _section(mode, language))
        _noticed = ("", None)


def _section(name, language):
    package = sys.modules["screens"]
    if language == "de":
        from .strings_de import SECTIONS

        del package.strings_de
    else:
        from .strings_en import SECTIONS

        del package.strings_en
    del sys.modules["screens.strings_" + language]
    return SECTIONS[name]


def say(name, otherwise=None):
    """The words of that name: a text, or a tuple of them; `otherwise` where there are none."""
    return _text[name] if otherwise is None else _text.get(name, otherwise)


def hint(mode):
    """What is wrong with the sound that a meter.mode.Mode hears, "" if nothing is."""
    return say(mode.hint) if mode.hint else ""


def start_view(firmware):
    """The first screen after power-up; `firmware` is its version."""
    name, kind, version = _notice("start")
    return View("start", (("name", name), ("line", kind), ("line", version % firmware)))


def notice_view(name):
    """What has to be said in any mode: "full", "store", "unread", "microphone", "low", "empty", "asleep" or "left"."""
    global _noticed
    if _noticed[0] != name:
        title, *lines = _notice(name)
        _noticed = (name, message_view(title, lines))
    return _noticed[1]


def _notice(name):
    return Words("\n" + _section("notice", _speaking[0]))[name]


def page_view(name, aside=""):
    """A page of the mode's own words, such as "keys"."""
    title, *lines = say(name)
    return message_view(title, lines, aside)


def message_view(title, lines, aside=""):
    """A title, `aside` at its other end, and up to four lines of text."""
    return View("message", [("title", title), ("state", aside)] + [("line", line) for line in lines])


def state(byte):
    """How it is sounded (the field `state`), in short words for the edge of a screen."""
    how, wind = byte & 7, byte >> 4
    words = (("state", say("short hows")[how]),)
    return words if how == record.PLUCKED else words + (("state", say("short winds")[wind]),)


def address(reed, i):
    """Where the reed is, in full words."""
    slide = reed.slide(i)
    breath = reed.breath(i)
    return (
        ("place", say("hole" if breath in ("blow", "draw") else "key") % reed.place(i)),
        ("breath", say(breath, breath)),
        ("slide", say("slide " + slide, slide)),
        ("member", reed.member(i)),
    )


def short(reed, i):
    """The same as one calls it: "3 draw in", "F#4 push M+"."""
    breath, slide = reed.breath(i), reed.slide(i)
    words = (reed.place(i), say(breath, breath), say(slide, slide), reed.member(i))
    return " ".join([word for word in words if word])


def figure(cents):
    """Cents with sign to a tenth; from 100 cents on to whole ones, for want of room and of meaning."""
    words = f"{cents:+.1f}" if abs(cents) < 99.95 else f"{cents:+.0f}"
    return "0.0" if words in ("-0.0", "+0.0") else words


def spread(se_cents):
    """Twice a standard error, rounded up to a tenth of a cent and at least that; whole cents from 10 on."""
    tenths = max(1, math.ceil(20 * se_cents - 1e-6))
    return f"{tenths // 10}.{tenths % 10}" if tenths < 100 else str((tenths + 9) // 10)


def reading(cents, se_cents):
    """(what is said of a figure, takes for its plot); `se_cents` None after a first look, which tells of no spread."""
    lines = (("figure", figure(cents)),)
    if se_cents is None:
        return lines, ()
    return lines + (("spread", say("spread") % spread(se_cents)),), (plotted(cents, se_cents),)


def plotted(cents, se_cents):
    """A measurement for the plot: (cents, twice its standard error) in hundredths; None without a figure."""
    return None if cents is None else (round(100 * cents), round(200 * se_cents))
