"""The states of the meter that are pictured: name -> function that gives a View. Runs on MicroPython.

An instrument here is made of plain data in the shape of meter.shelf.Instrument, a survey likewise; both are
the input of what is tested, not the thing itself.
"""

from meter.bench import Mode as Way
from meter.kinds import KEYS, KINDS
from meter.settings import Settings
from meter.sitting import verdict
from screens import bench, check, hearing, logic, menu, setup, surveying
from wire import record


class Reeds:
    """A slide chromatic of so many holes with a cross slide, in plate order."""

    def __init__(self, holes=16, slides=("out", "in"), breaths=("blow", "draw"), name="Chromatic 16"):
        self.name = name
        self.tolerance_cc = 300
        self._reeds = [
            (str(hole), breath, slide, plate)
            for plate in ("upper", "lower")
            for hole in range(1, holes + 1)
            for slide in slides
            for breath in breaths
            if plate == self._plate(hole, slide, breath != breaths[0])
        ]

    @staticmethod
    def _plate(hole, slide, second):
        lower = (hole + (slide == "in")) % 2 if slide else second
        return ("upper", "lower")[lower]

    def __len__(self):
        return len(self._reeds)

    def place(self, i):
        return self._reeds[i][0]

    def breath(self, i):
        return self._reeds[i][1]

    def slide(self, i):
        return self._reeds[i][2]

    def plate(self, i):
        return self._reeds[i][3]

    def member(self, i):
        return ""

    def role(self, i):
        return 0


class Controlled(Reeds):
    """The same with its first reed once more in the middle, where the lower plate begins."""

    def __init__(self):
        super().__init__()
        self.control = len(self._reeds) // 2
        self._reeds.insert(self.control, self._reeds[0])

    def role(self, i):
        return 1 if i == self.control else 0


class Keyboard(Reeds):
    """The treble of an accordion: banks M and M+ of 26 keys."""

    def __init__(self, breaths=("push", "pull"), banks=("M", "M+")):
        self.name = "Accordion, 26 keys"
        self.tolerance_cc = 300
        names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
        self._reeds = [
            (names[key % 12] + str(key // 12 - 1), breath, "", bank)
            for bank in banks
            for key in range(59, 85)
            for breath in breaths
        ]

    def member(self, i):
        return self._reeds[i][3]


class Outcome:
    def __init__(self, index, cents, se_cents, flags, verdict):
        self.index = index
        self.cents = cents
        self.se_cents = se_cents
        self.flags_bits = record.flag_bits(flags)
        self.verdict = verdict


class Survey:
    """A survey at reed `index`, of which the `doubtful` and all others before are finished."""

    def __init__(
        self, instrument, index, phase="wait", takes=(), last=None, heard=-1, doubtful=(), state="covers off", ask=False
    ):
        self.instrument = instrument
        self.index = index
        self.phase = phase
        self.takes = [(cents, se, record.flag_bits(flags)) for cents, se, flags in takes]
        self.last = last
        self.heard = heard
        self.redoing = False
        self.state = record.state_byte(state)
        self.asking = ask
        self.finished = index >= len(instrument)
        self.marks = bytearray(len(instrument))
        for i in range(index):
            self.marks[i] = 2 if i in doubtful else 1


class Surveying:
    phase = "wait"

    def __init__(self, survey, page=""):
        self.survey = survey
        self.page = page


class Menu:
    entries = ("surveying", "bench", "check", "hearing", "setup")

    def __init__(self, chosen=0, name="Chromatic 16"):
        self.chosen = chosen
        self.name = name


class NoStore:
    def read(self, name):
        return b""


class Setup:
    class meter:
        firmware = "0.1.0"

    def __init__(self, chosen=0, changing=False, facts=None, **values):
        self.settings = Settings(NoStore())
        for name in values:
            setattr(self.settings, name, values[name])
        self.chosen, self.changing, self.facts = chosen, changing, facts


class Live:
    def __init__(self, hz=0.0, se_cents=None, sounding=True):
        self.hz, self.se_cents, self.sounding = hz, se_cents, sounding


class Tone:
    def __init__(self, hz, se_cents=0.04, flags=(), level_db=-23.4, drift_cents_s=0.31):
        self.hz, self.se_cents, self.flags, self.level_db = hz, se_cents, flags, level_db
        self.drift_cents_s = drift_cents_s
        self.uhz = 0 if flags else int(hz * 1e6)


class Hearing:
    def __init__(self, live, tone=None, page="", note=(69, -12.41), **values):
        self.settings = Settings(NoStore())
        for name in values:
            setattr(self.settings, name, values[name])
        self.live, self.tone, self.page = live, tone, page
        self.note = lambda: note


class Bench:
    """A reed at the bench; `off` is what the figure says."""

    class sitting:
        state = record.state_byte("plate on bench")

    page = ""

    def __init__(self, live, tone=None, off=-7.23, **values):
        self.sitting = Bench.sitting()
        self.sitting.instrument = CHROMATIC
        self.index, self.place, self.planned, self.stop = HERE, 2, 14, -1.5
        self.strokes, self.other, self.partner = 0, -1, -1
        self.live, self.tone = live, tone
        self.off = lambda hz: off
        self.way = lambda cents, se_cents: Way.way(self, cents, se_cents)
        for name in values:
            setattr(self, name, values[name])


class NoInstrument:
    sitting = None


def _pair(**values):
    mode = Bench(Live(436.8, 0.05, False), Tone(436.8), **values)
    mode.sitting.instrument = Keyboard()
    mode.index, mode.partner = 55, 3
    return bench.view(mode)


def _at(place, breath, slide, instrument):
    for i in range(len(instrument)):
        if (instrument.place(i), instrument.breath(i), instrument.slide(i)) == (place, breath, slide):
            return i
    raise ValueError("no such reed")


CHROMATIC = Reeds()
HERE = _at("3", "draw", "in", CHROMATIC)  # not the first reed, not the last
FAR = _at("12", "draw", "in", CHROMATIC)
DOUBTFUL = (3, 17)


class Check:
    """A check with these cents by position; `moved`: by how much the reeds at some positions have."""

    class sitting:
        state = record.state_byte("assembled")
        instrument = CHROMATIC
        positions = range(len(CHROMATIC))

        def __init__(self, cents):
            self.off = lambda hz, i: cents

    live = Live(436.9, 0.05)

    def __init__(self, page="play", cents=None, last=-1, tone=None, moved=(), others=(), wanted=0, **values):
        self.cents = cents or {}
        self.page, self.last, self.tone, self.wanted = page, last, tone, wanted
        self.sitting = Check.sitting(self.cents.get(last, 0))
        self.rows = sorted(self.cents, key=lambda i: -abs(self.cents[i]))
        self.chosen = 0
        self.moved = lambda i: dict(moved).get(i)
        self.others = lambda i: others
        self.heard_count = lambda: len(self.cents)
        self.reading = lambda i: (self.cents[i], 0.1)
        self.verdict = lambda i: verdict(self.cents[i], 0.1, 300)
        self.off_and_moved = lambda: (sum(1 for i in self.cents if self.verdict(i) == "off"), len(moved))
        for name in values:
            setattr(self, name, values[name])


CHECKED = {HERE: -14.2, FAR: 4.4, 0: 0.3, 1: -1.1, 2: 3.05}


def _survey(phase="wait", takes=(), last=None, heard=-1, index=HERE):
    return surveying.survey_view(Survey(CHROMATIC, index, phase, takes, last, heard, DOUBTFUL))


def _release(takes, verdict, index=HERE):
    cents, se, flags = takes[-1]
    return _survey("release", takes, Outcome(index, cents, se, flags, verdict), index=index)


def _again(takes, index=HERE):
    cents, se, flags = takes[-1]
    return _survey("wait", takes, Outcome(index, cents, se, flags, "again"), index=index)


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
    ("setup-last", lambda: setup.view(Setup(9, off_min=0))),
    ("setup-about", lambda: setup.view(Setup(facts=(62345, 1273000, 131, 3912, 0)))),
    ("setup-about-usb", lambda: setup.view(Setup(facts=(62345, 1273000, 9999, None, -12345)))),
    ("hearing", lambda: hearing.view(Hearing(Live()))),
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
    ("bench-low", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), strokes=12))),
    ("bench-high", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), off=113.2, strokes=99))),
    ("bench-good", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9), off=0.42))),
    ("bench-unsure", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9, 0.4), off=2.71))),
    ("bench-lost", lambda: bench.view(Bench(Live(436.9, 0.05, False), Tone(436.9, flags=("unsteady",))))),
    ("bench-pair", _pair),
    ("bench-keys", lambda: bench.view(Bench(Live(), page="keys"))),
    ("check", lambda: check.view(Check(wanted=HERE))),
    ("check-hold", lambda: check.view(Check(cents=CHECKED, last=FAR))),
    ("check-good", lambda: check.view(Check(cents=CHECKED, last=1, tone=Tone(436.9), wanted=HERE))),
    ("check-off", lambda: check.view(Check(cents=CHECKED, last=FAR, tone=Tone(436.9), others=(HERE,)))),
    ("check-moved", lambda: check.view(Check(cents=CHECKED, last=HERE, tone=Tone(436.9), moved=((HERE, -9.1),)))),
    ("check-all", lambda: check.view(Check(cents=CHECKED, last=2, tone=Tone(436.9), wanted=-1))),
    ("check-lost", lambda: check.view(Check(cents=CHECKED, last=2, tone=Tone(436.9, flags=("unsteady",))))),
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
    ("attack", lambda: _survey("attack")),
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
            "hearing",
            "hearing-keys",
            "hearing-take",
            "cell-empty",
            "check",
            "check-good",
            "check-off",
            "check-moved",
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
