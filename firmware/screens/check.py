"""A check: the reed that was just heard, what it reads and whether it has moved; and the list of all, worst first."""

from . import logic
from .lists import list_view
from .logic import address, figure, say, short, state
from .view import View


def view(mode):
    """The screen of a meter.check.Mode."""
    if mode.page in ("kind", "key"):
        return list_view(
            say("kind" if mode.page == "kind" else "key choice"), [(row, "") for row in mode.rows], mode.chosen
        )
    if mode.page == "keys":
        return logic.page_view("keys")
    if mode.page == "list":
        return _list_view(mode)
    instrument = mode.sitting.instrument
    count = say("count") % (mode.heard_count(), len(mode.sitting.positions))
    if mode.last < 0:
        title, play = say("play")
        lines = [("title", title), ("state", count), ("line", instrument.name), ("line", play)]
        lines.append(("line", logic.hint(mode) or _next(mode)))
        return View("message", lines)
    return _reed_view(mode, instrument, count)


def _next(mode):
    return say("next") % short(mode.sitting.instrument, mode.wanted) if mode.wanted >= 0 else say("all")


def _reed_view(mode, reed, count):
    i, tone = mode.last, mode.tone
    paired = mode.beat_hz or mode.why == "short" if tone else mode.both()
    lines = address(reed, i)[: 3 if paired else 4] + state(mode.sitting.state)  # without the member where both sound
    if paired and not tone:  # the running figure would be that of neither
        lines += (("task", say("hold")), ("count", count), ("note", logic.hint(mode)))
        return View("call", lines, sounding=True)
    lines += (("take", count),)
    if tone and mode.why is not None:
        lines += (("no figure", say("no figure")), ("task", say("again")))
        return View("figure", lines + (("note", say(mode.why) if mode.why else ""),), reed.tolerance_cc)
    if tone and paired:
        (figures, first), (_, second) = [logic.reading(*mode.reading(each)) for each in (i, mode.mate)]
        takes = first + second
        task = _worse(mode.verdict(i), mode.verdict(mode.mate))
        note = _moved(mode, i) or _beat(mode)
    else:
        cents = mode.sitting.off(tone.hz if tone else mode.live.hz, i)
        figures, takes = logic.reading(cents, tone.se_cents if tone else mode.live.se_cents)
        task = mode.verdict(i) if tone else "hold"
        note = _note(mode, i)
    lines += figures + (("task", say(task)), ("note", logic.hint(mode) or note))
    return View("figure", lines, reed.tolerance_cc, takes, sounding=not tone)


def _note(mode, i):
    """Whether it has moved; else which other reed it may have been; else what is next."""
    moved = _moved(mode, i) if mode.tone else ""
    if moved:
        return moved
    for other in mode.others(i):
        return say("or") % short(mode.sitting.instrument, other)
    return _next(mode)


def _moved(mode, i):
    moved = mode.moved(i)
    return "" if moved is None else say("moved") % figure(moved)


def _worse(one, other):
    """Of two verdicts the one that asks for more."""
    return min(one, other, key=("off", "unsure", "good").index)


def _beat(mode):
    """How fast two reeds beat, and how fast they are to."""
    targets = mode.sitting.instrument.target_uhz
    wanted_hz = (targets(mode.mate) - targets(mode.last)) / 1e6
    return say("beat") % (f"{mode.beat_hz:.1f}", f"{wanted_hz:.1f}")


def _list_view(mode):
    if not mode.rows:
        return logic.page_view("empty")
    reed = mode.sitting.instrument
    rows = []
    for i in mode.rows:
        cents, _ = mode.reading(i)
        rows.append((short(reed, i), figure(cents)))
    off, moved = mode.off_and_moved()
    left = mode.moved(mode.rows[mode.chosen])
    aside = say(mode.verdict(mode.rows[mode.chosen])) if left is None else say("by") % figure(left)
    return list_view(say("counts") % (off, moved), rows, mode.chosen, aside)
