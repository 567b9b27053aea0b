"""What any reed sounds: note, cents with their spread, hertz, level, drift; and the reference A."""

from wire import record

from . import logic
from .logic import say
from .notes import note
from .view import View


def view(mode):
    """The screen of a meter.hearing.Mode."""
    settings, tone = mode.settings, mode.tone
    reference = say("reference") % (settings.reference_mhz / 1000)
    if mode.page:
        return logic.page_view(mode.page)
    if not (tone or mode.live.hz):
        title, what = say("nothing")
        return logic.message_view(title, (what, logic.hint(mode)), reference)
    number, cents = mode.note()
    hz = tone.hz if tone else mode.live.hz
    lines = [("place", note(number, settings)), ("breath", "%.2f Hz" % hz)]
    se_cents = mode.live.se_cents
    if tone:
        se_cents = tone.se_cents
        lines += (("take", say("level") % tone.level_db), ("note", _remark(tone)))
    elif mode.hint:
        lines += (("note", logic.hint(mode)),)
    figures, takes = logic.reading(cents, se_cents)
    if tone and not tone.uhz:
        figures, takes = (("no figure", say("no figure")),), ()
    lines += figures + (("task", reference),)
    return View("figure", lines, settings.tolerance_cc, takes, sounding=mode.live.sounding)


def _remark(tone):
    """Why there is no figure or not wholly one; else how it drifted."""
    return say(tone.flags[0]) if tone.flags and tone.flags[0] in record.FLAGS else say("drift") % tone.drift_cents_s
