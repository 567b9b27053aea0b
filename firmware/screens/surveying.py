"""What a survey shows: the reed that is called, its takes, how far the instrument has come."""

from wire import agree, record

from . import logic
from .logic import address, figure, plotted, say, short, spread, state
from .view import View

_settled = None  # the outcome that stood when it was last quiet: a noise that was no tone leaves it standing
_known = (None, ())  # the instrument whose plates are known, and they


def view(mode):
    """The screen of a meter.surveying.Mode, whose public attributes alone are read."""
    if mode.survey is None:
        title, how, what = say("idle")
        return logic.message_view(title, (how, what))
    mode.survey.phase = mode.phase
    cents = mode.off()
    if cents is not None:
        return _live_view(mode, cents)
    quiet = mode.phase == "wait"
    if mode.page == "keys" and quiet:
        return logic.page_view("keys")
    if mode.page == "whole" and quiet:
        return _whole_view(mode.survey)
    return survey_view(mode.survey, logic.hint(mode))


def _live_view(mode, cents):
    """The reed that was called is sounding: where it seems to be."""
    survey = mode.survey
    reed = survey.instrument
    figures, plot = logic.reading(cents, mode.live.se_cents)
    task = (("task", say("hold")), ("take", say("take") % (len(survey.takes) + 1)), ("note", logic.hint(mode)))
    lines = address(reed, survey.index) + figures + task + state(survey.state)
    return View("figure", lines, reed.tolerance_cc, plot, sounding=True)


def survey_view(survey, hint=""):
    """The same, of a meter.survey.Survey, while there is no running figure. `hint`: what is wrong with the sound."""
    global _settled
    last = survey.last
    if survey.phase == "wait":
        _settled = last
    if survey.asking and survey.phase in ("wait", "release"):
        return _ask_view(survey)
    took = last is not None and last.verdict in ("again", "done", "give up")
    if survey.phase == "release" and took and last is not _settled:
        return _figure_view(survey, last)
    if survey.finished:
        return _finished_view(survey)
    if survey.phase == "wait" and took and last.verdict == "again":
        return _figure_view(survey, last)
    return _call_view(survey, last, hint)


def _ask_view(survey):
    """How is it sounded? With what each key does."""
    how, wind = survey.state & 7, survey.state >> 4
    choices = (say("hows")[how], "-" if how == record.PLUCKED else say("winds")[wind], say("go"))
    lines = [("title", say("ask"))]
    for key, choice in zip(say("key names"), choices):
        lines += (("key", key), ("choice", choice))
    if not survey.finished:
        lines += address(survey.instrument, survey.index)
    return View("ask", lines)


def _call_view(survey, last, hint):
    """A reed is called, or is sounding."""
    resting = survey.phase in ("wait", "release")
    if resting and survey.heard >= 0:
        task, number = say("wrong") % short(survey.instrument, survey.heard), ""
    else:
        task = say("both" if survey.phase == "wait" and survey.state & record.BOTH else _TASKS[survey.phase])
        number = say("take") % (len(survey.takes) + 1)
    done = sum([1 for mark in survey.marks if mark])
    lines = (
        ("task", task),
        ("take", number),
        ("note", hint or _call_note(survey, last, resting)),
        ("count", say("count") % (done, len(survey.marks))),
    )
    lines = address(survey.instrument, survey.index) + lines + state(survey.state)
    tongues, now = _tongues(survey)
    return View("call", lines, tongues=tongues, now=now, sounding=survey.phase in ("gather", "hold"))


_TASKS = {"wait": "sound", "gather": "hold", "hold": "hold", "measure": "let go", "release": "let go"}


def _call_note(survey, last, resting):
    if resting and survey.heard < 0 and not survey.takes and survey.instrument.role(survey.index):
        return say("control")
    if last is None:
        return say("back") if survey.redoing else survey.instrument.name
    if last.verdict in ("wrong", "stray"):
        return say("not kept" if survey.heard >= 0 else "stray") if resting else ""
    if last.verdict == "again":
        return _reason(survey, last)
    name = short(survey.instrument, last.index)
    if last.verdict == "left out":
        return say("left out") % name
    if last.cents is None:
        return say("last lost") % name
    return say("last") % (name, figure(last.cents) + " ±" + spread(last.se_cents))


def _figure_view(survey, last):
    """The take just made, or what it leaves to do."""
    reed = survey.instrument
    again = last.verdict == "again"
    takes = survey.takes if again else [(last.cents, last.se_cents, last.flags_bits)]
    if survey.phase == "wait":
        task, number = say("again"), say("take") % (len(takes) + 1)
    else:
        task = say("saved")
        number = say("take") % len(takes) if again else ""
    if last.cents is None:
        reading = (("no figure", say("no figure")),)
    else:
        reading = (("figure", figure(last.cents)), ("spread", say("spread") % spread(last.se_cents)))
    if last.verdict == "done" and not survey.finished and not last.pair:
        note = say("next") % short(reed, survey.index)
    else:
        note = _reason(survey, last)
    lines = (
        address(reed, last.index) + reading + (("task", task), ("take", number), ("note", note)) + state(survey.state)
    )
    plot = tuple([plotted(cents, se_cents) for cents, se_cents, _ in takes])
    return View("figure", lines, tolerance=reed.tolerance_cc, takes=plot)


def _whole_view(survey):
    """All reeds of the instrument: what is done, doubtful, missing, and which is wanted."""
    done, doubtful, missing = [sum([1 for mark in survey.marks if mark == kind]) for kind in (1, 2, 0)]
    wanted = "" if survey.finished else say("wanted") % short(survey.instrument, survey.index)
    lines = (
        ("title", survey.instrument.name),
        ("line", say("whole") % (done, doubtful, missing)),
        ("line", wanted),
    )
    tongues, now = _tongues(survey)
    return View("whole", lines + state(survey.state), tongues=tongues, now=now)


def _finished_view(survey):
    title, counts, how, what = say("finished")
    done = sum([1 for mark in survey.marks if mark == 1])
    doubtful = sum([1 for mark in survey.marks if mark == 2])
    lines = (("title", title), ("line", counts % (done, doubtful)), ("line", how), ("line", what))
    lines += state(survey.state)
    return View("message", lines, tongues=_tongues(survey)[0])


def _reason(survey, last):
    """Why the reed is wanted once more, or is left; "" when there is nothing to say."""
    flags = record.flag_names(last.flags_bits)
    pair = last.pair or ()
    if pair[1:]:
        beat_hz, low, high = pair
        return say("beat") % (f"{beat_hz:.1f}", figure(low), figure(high))
    if flags and not (last.cents is not None and record.trusted(last.flags_bits, 1)):
        # Two reeds were to sound, but have not beaten once.
        if survey.both() and "two-reeds" in flags:
            return say("slow") % (1 / pair[0] + 1) if pair else say("short")
        return say(flags[0])
    if last.verdict == "give up":
        return say("give up")
    if last.verdict == "done":
        return ""
    good = [take[0] for take in survey.takes if take[0] is not None and record.trusted(take[2], 1)]
    if len(good) < agree.WANTED:
        return say("afresh" if survey.redoing else "once more")
    return say("differ") % f"{max(good) - min(good):.1f}"


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
