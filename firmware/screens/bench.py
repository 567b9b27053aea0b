"""The bench: one reed, how far from where it is to stop, which way the pitch must go and where metal comes off."""

from . import logic
from .logic import address, figure, say, short, state
from .view import View


def view(mode):
    """The screen of a meter.bench.Mode."""
    if not mode.sitting:
        return logic.page_view("idle")
    if mode.page:
        return logic.page_view(mode.page)
    reed = mode.sitting.instrument
    lines, sits = address(reed, mode.index), state(mode.sitting.state)
    if mode.strokes:
        lines += (("take", say("strokes") % mode.strokes),)
    tone = mode.tone
    hz = tone.hz if tone else mode.live.hz
    if not hz:
        count = say("place") % (mode.place, mode.planned) if mode.place else say("not planned")
        task = say("wrong") % short(reed, mode.other) if mode.other >= 0 else say("sound")
        return View(
            "call", lines + (("task", task), ("count", count), ("note", logic.hint(mode) or _note(mode))) + sits
        )
    if tone and not tone.uhz:
        reason = say(tone.flags[0]) if tone.flags else ""
        lines += (("no figure", say("no figure")), ("task", say("again")), ("note", reason))
        return View("figure", lines + sits, reed.tolerance_cc)
    cents = mode.off(hz)
    se_cents = tone.se_cents if tone else mode.live.se_cents
    figures, takes = logic.reading(cents, se_cents)
    task = "hold" if se_cents is None else mode.way(cents, se_cents)
    lines += figures + (("task", say(task)), ("note", logic.hint(mode) or _note(mode)))
    sounding = se_cents is None or mode.live.sounding
    return View("figure", lines + sits, reed.tolerance_cc, takes, sounding=sounding)


def _note(mode):
    """What has to be known beside: which reed to mute, else where the work stops."""
    if mode.partner >= 0:
        return say("mute") % short(mode.sitting.instrument, mode.partner)
    return say("stop") % figure(mode.stop)
