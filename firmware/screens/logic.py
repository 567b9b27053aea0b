"""From the state of the meter to what its screen says. Nothing is drawn here.

A figure is shown with twice its random standard error (about 95 %), rounded up to a tenth of a cent.
"""

import math
import sys

from wire import agree, record

from .view import View

_language = None
_text = None  # screens.words.Words
_seen = (None, None)  # the state of a survey and its View
_settled = None  # the outcome that stood when it was last quiet: a noise that was no tone leaves it standing
_known = (None, ())  # the instrument whose plates are known, and they


def speak(language):
    """Chooses the screen's language, "en" or "de", which must be done before anything is shown.

    Only the words of the one in use stay in memory: modules of words are forgotten as soon as they are loaded.
    """
    global _language, _text, _seen
    if language == _language:
        return
    _text, _seen = None, (None, None)
    package = sys.modules["screens"]
    if language == "de":
        from .strings_de import TEXT

        del package.strings_de
    else:
        from .strings_en import TEXT

        del package.strings_en
    del sys.modules["screens.strings_" + language]
    _language, _text = language, TEXT


def start_view(firmware):
    """The first screen after power-up; `firmware` is its version."""
    name, kind, version = _text["start"]
    return View("start", (("name", name), ("line", kind), ("line", version % firmware)))


def idle_view(status):
    """No instrument is loaded. `status`: dict with "records", how many wait to be pulled."""
    title, how, what, waiting = _text["idle"]
    records = status["records"]
    return message_view(title, (how, what, waiting % records if records else ""))


def notice_view(name):
    """One of the messages of the strings: "full", "store", "unread", "microphone", "left" or "keys"."""
    title, *lines = _text[name]
    return message_view(title, lines)


def message_view(title, lines):
    """A title and up to four lines of text."""
    return View("message", [("title", title)] + [("line", line) for line in lines])


def survey_view(survey):
    """The screen of a survey: a meter.survey.Survey, of which only the public attributes are read.

    Asked at every block, it answers with the same View as long as the survey is where it was.
    """
    global _seen, _settled
    last = survey.last
    if survey.phase == "wait":
        _settled = last
    state = (survey, survey.phase, survey.index, len(survey.takes), last, survey.heard, survey.finished)
    state += (survey.state, survey.asking, survey.redoing)
    if _seen[0] != state:
        _seen = (state, _view_of(survey, last))
    return _seen[1]


def _view_of(survey, last):
    if survey.asking and survey.phase in ("wait", "release"):
        return _ask_view(survey)
    took = last is not None and last.verdict in ("again", "done", "give up")
    if survey.phase == "release" and took and last is not _settled:
        return _figure_view(survey, last)
    if survey.finished:
        return _finished_view(survey)
    if survey.phase == "wait" and took and last.verdict == "again":
        return _figure_view(survey, last)
    return _call_view(survey, last)


def _ask_view(survey):
    """How is it sounded? With what each key does."""
    how, wind = survey.state & 15, survey.state >> 4
    choices = (_text["hows"][how], "-" if how == record.PLUCKED else _text["winds"][wind], _text["go"])
    lines = [("title", _text["ask"])]
    for key, choice in zip(_text["key names"], choices):
        lines += (("key", key), ("choice", choice))
    if not survey.finished:
        lines += _address(survey.instrument, survey.index)
    return View("ask", lines)


def _state(survey):
    """How it is sounded, in short words for the edge of a screen."""
    how, wind = survey.state & 15, survey.state >> 4
    words = (("state", _text["short hows"][how]),)
    return words if how == record.PLUCKED else words + (("state", _text["short winds"][wind]),)


def _call_view(survey, last):
    """A reed is called, or is sounding."""
    resting = survey.phase in ("wait", "release")
    if resting and survey.heard >= 0:
        task, number = _text["wrong"] % _short(survey.instrument, survey.heard), ""
    else:
        task = _text[_TASKS[survey.phase]]
        number = _text["take"] % (len(survey.takes) + 1)
    done = sum([1 for mark in survey.marks if mark])
    lines = (
        ("task", task),
        ("take", number),
        ("note", _call_note(survey, last, resting)),
        ("count", _text["count"] % (done, len(survey.marks))),
    )
    lines = _address(survey.instrument, survey.index) + lines + _state(survey)
    tongues, now = _tongues(survey)
    return View("call", lines, tongues=tongues, now=now, sounding=survey.phase in ("attack", "gather"))


_TASKS = {"wait": "sound", "attack": "hold", "gather": "hold", "measure": "let go", "release": "let go"}


def _call_note(survey, last, resting):
    if resting and survey.heard < 0 and not survey.takes and survey.instrument.role(survey.index):
        return _text["control"]
    if last is None:
        return _text["back"] if survey.redoing else survey.instrument.name
    if last.verdict in ("wrong", "stray"):
        return _text["not kept" if survey.heard >= 0 else "stray"] if resting else ""
    if last.verdict == "again":
        return _reason(survey, last)
    name = _short(survey.instrument, last.index)
    if last.verdict == "left out":
        return _text["left out"] % name
    if last.cents is None:
        return _text["last lost"] % name
    return _text["last"] % (name, figure(last.cents) + " ±" + spread(last.se_cents))


def _figure_view(survey, last):
    """The take just made, or what it leaves to do."""
    reed = survey.instrument
    again = last.verdict == "again"
    takes = survey.takes if again else [(last.cents, last.se_cents, last.flags_bits)]
    if survey.phase == "wait":
        task, number = _text["again"], _text["take"] % (len(takes) + 1)
    else:
        task = _text["saved"]
        number = _text["take"] % len(takes) if again else ""
    if last.cents is None:
        reading = (("no figure", _text["no figure"]),)
    else:
        reading = (("figure", figure(last.cents)), ("spread", _text["spread"] % spread(last.se_cents)))
    if last.verdict == "done" and not survey.finished:
        note = _text["next"] % _short(reed, survey.index)
    else:
        note = _reason(survey, last)
    lines = _address(reed, last.index) + reading + (("task", task), ("take", number), ("note", note)) + _state(survey)
    plot = tuple([_plotted(take) for take in takes])
    return View("figure", lines, tolerance=reed.tolerance_cc, takes=plot)


def _finished_view(survey):
    title, counts, how, what = _text["finished"]
    done = sum(1 for mark in survey.marks if mark == 1)
    doubtful = sum(1 for mark in survey.marks if mark == 2)
    lines = (("title", title), ("line", counts % (done, doubtful)), ("line", how), ("line", what))
    lines += _state(survey)
    return View("message", lines, tongues=_tongues(survey)[0])


def _reason(survey, last):
    """Why the reed is wanted once more, or is left; "" when there is nothing to say."""
    flags = record.flag_names(last.flags_bits)
    if flags and not (last.cents is not None and record.trusted(last.flags_bits, 1)):
        return _text[flags[0]]
    if last.verdict == "give up":
        return _text["give up"]
    if last.verdict == "done":
        return ""
    good = [take[0] for take in survey.takes if take[0] is not None and record.trusted(take[2], 1)]
    if len(good) < agree.WANTED:
        return _text["afresh" if survey.redoing else "once more"]
    return _text["differ"] % f"{max(good) - min(good):.1f}"


def _address(reed, i):
    """Where the reed is, in full words."""
    slide = reed.slide(i)
    breath = reed.breath(i)
    return (
        ("place", _text["hole" if breath in ("blow", "draw") else "key"] % reed.place(i)),
        ("breath", _text.get(breath, breath)),
        ("slide", _text.get("slide " + slide, slide)),
        ("member", reed.member(i)),
    )


def _short(reed, i):
    """The same as one calls it: "3 draw in", "F#4 push M+"."""
    breath, slide = reed.breath(i), reed.slide(i)
    words = (reed.place(i), _text.get(breath, breath), _text.get(slide, slide), reed.member(i))
    return " ".join([word for word in words if word])


def figure(cents):
    """Cents with sign to a tenth; from 100 cents on to whole ones, for want of room and of meaning."""
    words = f"{cents:+.1f}" if abs(cents) < 99.95 else f"{cents:+.0f}"
    return "0.0" if words in ("-0.0", "+0.0") else words


def spread(se_cents):
    """Twice a standard error, rounded up to a tenth of a cent and at least that; whole cents from 10 on."""
    tenths = max(1, math.ceil(20 * se_cents - 1e-6))
    return f"{tenths // 10}.{tenths % 10}" if tenths < 100 else str((tenths + 9) // 10)


def _plotted(take):
    cents, se_cents, _ = take
    return None if cents is None else (round(100 * cents), round(200 * se_cents))


def _tongues(survey):
    """(marks per plate, (plate, reed) of the one wanted), or None for the latter at the end.

    With more than two plates only the one being sounded is shown: more would be too small to see.
    """
    marks = bytes(survey.marks)
    index = survey.index
    plates = _plates(survey.instrument)
    if len(plates) > 2:
        plates = [plate for plate in plates if plate[0] <= index < plate[1]]
    now = None
    for row, (start, end) in enumerate(plates):
        if start <= index < end:
            now = (row, index - start)
    return tuple([marks[start:end] for start, end in plates]), now


def _plates(instrument):
    """(first, end) of each plate's reeds, which follow each other in a survey; kept, as it is often asked."""
    global _known
    if _known[0] is not instrument:
        plates = []
        start = 0
        for i in range(1, len(instrument) + 1):
            if i == len(instrument) or instrument.plate(i) != instrument.plate(start):
                plates.append((start, i))
                start = i
        _known = (instrument, plates)
    return _known[1]
