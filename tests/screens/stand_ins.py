"""Instruments, surveys and modes of plain data, in the shapes that screens read. Runs on MicroPython.

They are the input of what is tested, not the thing itself.
"""

from meter.bench import Mode as Way
from meter.settings import Settings
from meter.sitting import verdict
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
    def __init__(self, index, cents, se_cents, flags, verdict, pair=None):
        self.pair = pair
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

    def both(self):
        return bool(self.state & record.BOTH)


class Surveying:
    def __init__(self, survey, page="", phase="wait", live=None, off=None, hint=""):
        self.survey = survey
        self.page = page
        self.phase, self.live, self.hint = phase, live, hint
        self.off = lambda: off


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

    def __init__(self, chosen=0, changing=False, facts=None, trial=None, **values):
        self.settings = Settings(NoStore())
        for name in values:
            setattr(self.settings, name, values[name])
        self.chosen, self.changing, self.facts, self.trial = chosen, changing, facts, trial


class Live:
    def __init__(self, hz=0.0, se_cents=None, sounding=True):
        self.hz, self.se_cents, self.sounding = hz, se_cents, sounding


class Tone:
    def __init__(self, hz, se_cents=0.04, flags=(), level_db=-23.4, drift_cents_s=0.31):
        self.hz, self.se_cents, self.flags, self.level_db = hz, se_cents, flags, level_db
        self.drift_cents_s = drift_cents_s
        self.uhz = 0 if flags else int(hz * 1e6)


class Hearing:
    def __init__(self, live, tone=None, page="", note=(69, -12.41), hint="", **values):
        self.hint = hint
        self.settings = Settings(NoStore())
        for name in values:
            setattr(self.settings, name, values[name])
        self.live, self.tone, self.page = live, tone, page
        self.note = lambda: note


class Bench:
    """A reed at the bench; `off` is what the figure says."""

    class sitting:
        state = record.state_byte("plate on bench")

    page = hint = ""

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


def at(place, breath, slide, instrument):
    for i in range(len(instrument)):
        if (instrument.place(i), instrument.breath(i), instrument.slide(i)) == (place, breath, slide):
            return i
    raise ValueError("no such reed")


CHROMATIC = Reeds()
HERE = at("3", "draw", "in", CHROMATIC)  # not the first reed, not the last
FAR = at("12", "draw", "in", CHROMATIC)
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
    hint = ""
    beat_hz, mate = 0.0, -1

    def __init__(self, page="play", cents=None, last=-1, tone=None, moved=(), others=(), wanted=0, **values):
        self.cents = cents or {}
        self.why = tone.flags[0] if tone and tone.flags else None
        self.both = lambda: self.mate >= 0
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


class Tremolo(Reeds):
    """Two reeds in each of 24 columns, of which columns 1, 3, 5 ... are blown."""

    def __init__(self):
        self.name = "A, Tremolo harmonica, 24 columns"
        self.tolerance_cc = 300
        self._reeds = [(str(1 + i // 2), ("blow", "draw")[i // 2 % 2], "", "") for i in range(48)]

    def member(self, i):
        return ("base", "high")[i % 2]

    def target_uhz(self, i):
        return (523251131, 525432312)[i % 2]


class CheckTremolo(Check):
    class sitting(Check.sitting):
        instrument = Tremolo()
        positions = range(len(instrument))

    def __init__(self, *values, **more):
        super().__init__(*values, last=8, mate=9, wanted=10, **more)
        self.sitting = CheckTremolo.sitting(0)


CHECKED = {HERE: -14.2, FAR: 4.4, 0: 0.3, 1: -1.1, 2: 3.05}
