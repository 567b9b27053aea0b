"""The states of the meter that are pictured: name -> function that gives a View. Runs on MicroPython."""

from meter.kinds import KEYS, KINDS
from screens import bench, check, hearing, logic, menu, setup, surveying
from stand_ins import (
    CHECKED,
    CHROMATIC,
    DOUBTFUL,
    FAR,
    HERE,
    Bench,
    Check,
    CheckTremolo,
    Controlled,
    Hearing,
    Keyboard,
    Live,
    Menu,
    NoInstrument,
    Outcome,
    Reeds,
    Setup,
    Survey,
    Surveying,
    Tone,
)


def _pair(**values):
    mode = Bench(Live(436.8, 0.05, False), Tone(436.8), **values)
    mode.sitting.instrument = Keyboard()
    mode.index, mode.partner = 55, 3
    return bench.view(mode)


def _survey(phase="wait", takes=(), last=None, heard=-1, index=HERE):
    return surveying.survey_view(Survey(CHROMATIC, index, phase, takes, last, heard, DOUBTFUL))


def _sounding(off, se_cents, phase="gather", hint="", takes=()):
    """The reed that was called is sounding."""
    survey = Survey(CHROMATIC, HERE, phase, takes, doubtful=DOUBTFUL)
    return surveying.view(Surveying(survey, "", phase, Live(436.9, se_cents), off, hint))


def _release(takes, verdict, index=HERE):
    cents, se, flags = takes[-1]
    return _survey("release", takes, Outcome(index, cents, se, flags, verdict), index=index)


def _again(takes, index=HERE):
    cents, se, flags = takes[-1]
    return _survey("wait", takes, Outcome(index, cents, se, flags, "again"), index=index)


PAIR = {8: -1.2, 9: -0.8}
BOTH = Tone(523.9, flags=("two-reeds",))
GOOD = (-12.4, 0.14, ())
ALIKE = (-12.1, 0.22, ())
APART = (-6.0, 0.4, ())
NO_FIGURE = (None, 0.0, ("pulled",))


def _redo():
    survey = Survey(CHROMATIC, HERE, "wait", [GOOD], Outcome(HERE, -12.4, 0.14, (), "again"), doubtful=DOUBTFUL)
    survey.redoing = True
    return surveying.survey_view(survey)


def _ask(state, index=0):
    return surveying.survey_view(Survey(CHROMATIC, index, doubtful=DOUBTFUL, state=state, ask=True))


def _back():
    survey = Survey(CHROMATIC, HERE - 1, doubtful=DOUBTFUL)
    survey.redoing = True
    return surveying.survey_view(survey)


def _control():
    reeds = Controlled()
    survey = Survey(reeds, reeds.control, last=Outcome(reeds.control - 1, 2.84, 0.23, (), "done"), doubtful=DOUBTFUL)
    return surveying.survey_view(survey)


def _in_state(state):
    survey = Survey(CHROMATIC, HERE, last=Outcome(HERE - 1, 2.84, 0.23, (), "done"), state=state)
    return surveying.survey_view(survey)


def _both(phase, verdict=None, pair=(2.1, 0.31, 8.04)):
    """Two reeds at once, of which `verdict` came out; without `pair` they hardly beat, one number says how slowly."""
    last = Outcome(3, 0.31, 0.02, ("two-reeds",), verdict, pair) if verdict else None
    takes = [(0.31, 0.02, ())] if verdict == "again" else ()
    state = "assembled, bellows, both reeds"
    return surveying.survey_view(
        Survey(Keyboard(("push",)), 3 if verdict != "done" else 4, phase, takes, last, state=state)
    )


def _keyboard(phase="wait", index=55, **more):
    reeds = Keyboard(**more)
    return surveying.survey_view(Survey(reeds, index, phase, state="plate on bench, bellows"))


def _keyboard_take():
    last = Outcome(55, -38.2, 1.44, (), "again")
    survey = Survey(Keyboard(), 55, "wait", [(-38.2, 1.44, ())], last, state="plate on bench, bellows")
    return surveying.survey_view(survey)


def _after(cents, flags, verdict, phase="wait"):
    return _survey(phase, last=Outcome(HERE - 1, cents, 0.23, flags, verdict))


_SCENES = (
    ("start", lambda: logic.start_view("0.1.0")),
    ("menu", lambda: menu.view(Menu())),
    ("menu-last", lambda: menu.view(Menu(4, "A name that is far too long"))),
    ("menu-empty", lambda: menu.view(Menu(1, ""))),
    ("idle", lambda: surveying.view(Surveying(None))),
    ("ask", lambda: _ask("covers off")),
    ("ask-plucked", lambda: _ask("plucked", HERE)),
    ("ask-finished", lambda: _ask("plate on bench, bellows", len(CHROMATIC))),
    ("keys", lambda: surveying.view(Surveying(Survey(CHROMATIC, HERE), "keys"))),
    ("whole", lambda: surveying.view(Surveying(Survey(CHROMATIC, HERE, doubtful=DOUBTFUL), "whole"))),
    ("whole-finished", lambda: surveying.view(Surveying(Survey(CHROMATIC, len(CHROMATIC)), "whole"))),
    ("whole-keyboard", lambda: surveying.view(Surveying(Survey(Keyboard(), 55), "whole"))),
    ("setup", lambda: setup.view(Setup())),
    ("setup-changing", lambda: setup.view(Setup(3, True, reference_mhz=441500))),
    ("setup-last", lambda: setup.view(Setup(10, off_min=0, sleep_min=120))),
    ("setup-about", lambda: setup.view(Setup(facts=(62345, 1273000, 131, 3912, 0)))),
    ("setup-about-usb", lambda: setup.view(Setup(facts=(62345, 1273000, 9999, None, -12345)))),
    ("setup-trial", lambda: setup.view(Setup(trial=[True, True, True, -7112, ("up", "do"), ()]))),
    ("setup-trial-faults", lambda: setup.view(Setup(trial=[True, False, False, -9900, (), ["up"]]))),
    ("hearing", lambda: hearing.view(Hearing(Live()))),
    ("hearing-loud-room", lambda: hearing.view(Hearing(Live(), hint="loud room"))),
    ("hearing-too-loud", lambda: hearing.view(Hearing(Live(436.86, 0.09), hint="clipped"))),
    ("hearing-keys", lambda: hearing.view(Hearing(Live(), page="keys"))),
    ("hearing-first", lambda: hearing.view(Hearing(Live(436.9)))),
    ("hearing-live", lambda: hearing.view(Hearing(Live(436.86, 0.09)))),
    ("hearing-take", lambda: hearing.view(Hearing(Live(436.86, 0.09, False), Tone(436.857)))),
    (
        "hearing-wide",
        lambda: hearing.view(
            Hearing(Live(1, 0.1, False), Tone(2217.46, 0.66), note=(97, -49.9), flats=1, german_notes=1)
        ),
    ),
    ("hearing-lost", lambda: hearing.view(Hearing(Live(1, 0.1, False), Tone(436.857, flags=("unsteady",))))),
    ("bench-none", lambda: bench.view(NoInstrument())),
    ("bench", lambda: bench.view(Bench(Live()))),
    ("bench-not-planned", lambda: bench.view(Bench(Live(), place=0, strokes=99))),
    ("bench-wrong", lambda: bench.view(Bench(Live(), other=FAR))),
    ("bench-first", lambda: bench.view(Bench(Live(436.9)))),
    ("bench-live", lambda: bench.view(Bench(Live(436.9, 0.05), strokes=12))),
    ("bench-too-soft", lambda: bench.view(Bench(Live(436.9, 0.05), hint="soft"))),
    ("bench-low", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), strokes=12))),
    ("bench-high", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), off=113.2, strokes=99))),
    ("bench-good", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), off=0.42))),
    ("bench-unsure", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9, 0.4), off=2.71))),
    ("bench-lost", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9, flags=("unsteady",))))),
    ("bench-pair", _pair),
    ("bench-keys", lambda: bench.view(Bench(Live(), page="keys"))),
    ("check", lambda: check.view(Check(wanted=HERE))),
    ("check-loud-room", lambda: check.view(Check(wanted=HERE, hint="loud room"))),
    ("check-hold", lambda: check.view(Check(cents=CHECKED, last=FAR))),
    ("check-good", lambda: check.view(Check(cents=CHECKED, last=1, tone=Tone(436.9), wanted=HERE))),
    ("check-off", lambda: check.view(Check(cents=CHECKED, last=FAR, tone=Tone(436.9), others=(HERE,)))),
    ("check-moved", lambda: check.view(Check(cents=CHECKED, last=HERE, tone=Tone(436.9), moved=((HERE, -9.1),)))),
    ("check-all", lambda: check.view(Check(cents=CHECKED, last=2, tone=Tone(436.9), wanted=-1))),
    ("check-lost", lambda: check.view(Check(cents=CHECKED, last=2, tone=Tone(436.9, flags=("unsteady",))))),
    ("check-pair-first", lambda: check.view(CheckTremolo())),
    ("check-pair", lambda: check.view(CheckTremolo(cents=PAIR, tone=BOTH, why=None, beat_hz=2.31))),
    ("check-pair-off", lambda: check.view(CheckTremolo(cents={8: -1.2, 9: 5.4}, tone=BOTH, why=None, beat_hz=4.12))),
    (
        "check-pair-moved",
        lambda: check.view(CheckTremolo(cents=PAIR, tone=BOTH, why=None, beat_hz=2.31, moved=((8, 2.4),))),
    ),
    ("check-pair-short", lambda: check.view(CheckTremolo(tone=BOTH, why="short"))),
    ("check-list", lambda: check.view(Check("list", CHECKED, moved=((HERE, -9.1), (FAR, 3.9))))),
    ("check-list-last", lambda: check.view(Check("list", CHECKED, chosen=4))),
    ("check-empty", lambda: check.view(Check("list"))),
    ("check-kind", lambda: check.view(Check("kind", rows=[kind[1] for kind in KINDS], chosen=6))),
    ("check-key", lambda: check.view(Check("key", rows=[key for key, _ in KEYS], chosen=13))),
    ("check-keys", lambda: check.view(Check("keys"))),
    ("first", lambda: _survey(index=0)),
    ("call", lambda: _after(2.84, (), "done")),
    ("call-far", lambda: _survey(index=FAR, last=Outcome(FAR - 1, -38.2, 0.51, (), "done"))),
    ("call-after-lost", lambda: _after(None, ("unsteady",), "give up")),
    ("loud-room", lambda: _sounding(None, None, "wait", "loud room")),
    ("live-first", lambda: _sounding(-11, None)),
    ("live", lambda: _sounding(-12.2, 0.41)),
    ("live-too-loud", lambda: _sounding(-12.2, 0.41, hint="clipped")),
    ("live-second", lambda: _sounding(-12.2, 0.22, takes=[GOOD])),
    ("hold", lambda: _survey("gather", [GOOD], Outcome(HERE, -12.4, 0.14, (), "again"))),
    ("measure", lambda: _survey("measure", [GOOD], Outcome(HERE, -12.4, 0.14, (), "again"))),
    ("take-1", lambda: _release([GOOD], "again")),
    ("again", lambda: _again([GOOD])),
    ("again-apart", lambda: _again([GOOD, APART])),
    ("again-no-figure", lambda: _again([GOOD, NO_FIGURE])),
    ("again-weak", lambda: _again([(3.3, 1.9, ("weak",))])),
    ("done", lambda: _after(2.84, (), "done", "release")),
    ("done-far-off", lambda: _after(-1187.3, ("two-reeds",), "give up", "release")),
    ("lost", lambda: _after(None, ("unsteady",), "give up", "release")),
    ("five-takes", lambda: _release([GOOD, APART, (0.4, 0.3, ()), (2.2, 0.9, ()), (31.0, 2.2, ())], "again")),
    ("wrong-reed", lambda: _survey(heard=FAR, last=Outcome(FAR, None, 0.0, (), "wrong"))),
    ("stray", lambda: _survey(last=Outcome(-1, None, 0.0, (), "stray"))),
    ("redo", _redo),
    ("back", _back),
    ("control", _control),
    ("both", lambda: _both("wait")),
    ("both-hold", lambda: _both("hold")),
    ("both-saved", lambda: _both("release", "done")),
    ("both-again", lambda: _both("wait", "again")),
    ("both-short", lambda: _both("wait", "again", None)),
    ("both-slow", lambda: _both("wait", "again", (0.34,))),
    ("left-out", lambda: _survey(last=Outcome(HERE - 1, None, 0.0, (), "left out"))),
    ("plucked", lambda: _in_state("plucked")),
    ("suction", lambda: _in_state("assembled, suction")),
    ("finished", lambda: _survey(index=len(CHROMATIC))),
    ("one-plate-diatonic", lambda: surveying.survey_view(Survey(Reeds(10, ("",), name="Ten holes"), 13))),
    ("many-holes", lambda: surveying.survey_view(Survey(Reeds(24, name="Twenty-four holes"), 70, doubtful=(5,)))),
    (
        "buttons",
        lambda: surveying.survey_view(Survey(Reeds(10, ("",), ("push", "pull"), "Bellows, ten keys"), 11)),
    ),
    ("keyboard", _keyboard),
    ("keyboard-hold", lambda: _keyboard("gather")),
    ("keyboard-take", _keyboard_take),
    ("harmonium", lambda: _keyboard(breaths=("",), banks=("bass", "male", "female"))),
    ("memory-full", lambda: logic.notice_view("full")),
    ("memory-fault", lambda: logic.notice_view("store")),
    ("memory-unread", lambda: logic.notice_view("unread")),
    ("microphone", lambda: logic.notice_view("microphone")),
    ("cell-low", lambda: logic.notice_view("low")),
    ("cell-empty", lambda: logic.notice_view("empty")),
    ("asleep", lambda: logic.notice_view("asleep")),
    ("left", lambda: logic.notice_view("left")),
    (
        "strange-words",
        lambda: logic.message_view("Ünknown → €", ["a line that is far too long for it", "\u4e2d?"]),
    ),
)

SCENES = dict(_SCENES)
# Whose words a scene needs, if not the survey's.
MODES = {
    name: name.split("-")[0] for name in SCENES if name.split("-")[0] in ("menu", "setup", "hearing", "bench", "check")
}
LANGUAGES = (
    ("en", [name for name, _ in _SCENES]),
    (
        "de",
        [
            "menu",
            "setup",
            "setup-changing",
            "setup-last",
            "setup-about-usb",
            "setup-trial",
            "setup-trial-faults",
            "live-too-loud",
            "loud-room",
            "hearing",
            "hearing-keys",
            "hearing-take",
            "cell-empty",
            "asleep",
            "check",
            "check-good",
            "check-off",
            "check-moved",
            "check-pair",
            "check-pair-short",
            "check-list",
            "check-list-last",
            "check-key",
            "check-keys",
            "bench",
            "bench-not-planned",
            "bench-low",
            "bench-high",
            "bench-good",
            "bench-unsure",
            "bench-pair",
            "bench-keys",
            "whole",
            "ask",
            "ask-finished",
            "keys",
            "call",
            "call-far",
            "back",
            "left-out",
            "control",
            "both",
            "both-again",
            "both-short",
            "both-slow",
            "plucked",
            "hold",
            "take-1",
            "again-apart",
            "again-weak",
            "lost",
            "wrong-reed",
            "finished",
            "idle",
            "buttons",
            "keyboard-take",
        ],
    ),
)
