"""Runs on MicroPython: the whole firmware without any hardware. A script presses its keys and says what it hears.

meter = boot(root)              power on; its flash is the folder `root`
tap(meter, "down"), hold(...)   a key, and what follows from it
sound(meter, hz)                a reed sounds
sound_on(meter, hz)             and goes on at that pitch; 0 for no longer
words(meter)                    what its screen says
meter.part.asleep               function that is called with the part as it rests, to wake the meter
"""

import binascii
import math
import sys
from array import array

ROOM = 2048  # places, more than what measures needs


class Part:
    """Every part of the board at once."""

    rate = 16000
    rate_ppb = 0
    missing = ""
    behind = False
    count = 0
    running = False
    connected = False
    NAME = "pocket"
    ms = 0
    mv = None
    pressed = ()
    held = ()
    said = b""
    asleep = None
    shown = None

    def start(self):
        self.running = True

    def stop(self):
        self.running = False

    def poll(self):
        pressed, self.pressed = self.pressed, ()
        return pressed

    def down(self):
        return self.held

    def held_at_start(self, key):
        return False

    def show(self, view):
        self.shown = view

    def light(self, level, turned):
        self.lit = (level, turned)

    def read(self, *_):
        said, self.said = self.said, b""
        return said

    def write(self, data):
        pass

    def ticks_ms(self):
        return self.ms

    def up_s(self):
        return self.ms // 1000

    def unix_s(self):
        return 0

    def serial(self):
        return "pocket"

    def cell_mv(self):
        return self.mv

    def temperature_dc(self):
        return None

    def entropy(self):
        return 7

    def rest(self, ms):
        self.ms += ms
        self.asleep(self)


class Listener:
    phase = "wait"
    glimpse_hz = 0.0
    count = 0
    samples = b""

    def hint(self):
        return ""

    def look(self):
        return self.glimpse_hz


class Ear:
    level = -7000

    def __init__(self, *_):
        self.listener = Listener()
        self.ready = None

    def live(self):
        from meter.live import Live
        from meter.mixing import Mixer

        return Live(self.listener, Mixer(array("i", (0 for _ in range(ROOM)))))

    def step(self, expected_hz=0.0):
        return self.ready is not None

    def tone(self, expected_hz=0.0):
        tone, self.ready = self.ready, None
        self.listener.phase = "release"
        return tone


class Board:
    def __init__(self, root):
        self.part = Part()
        for name in ("clock", "keys", "microphone", "port", "power", "screen", "store"):
            setattr(self, name, self.part)
        for name in ("Keys", "Microphone", "Port", "Screen"):
            setattr(self.part, name, lambda: self.part)
        self.part.mount = lambda: root


def boot(root):
    """A main.Meter, as it is just before its first block."""
    sys.modules.pop("main", None)
    board = sys.modules["board"] = Board(root)
    import main
    from meter import ear

    ear.Ear = Ear
    meter = main.Meter()
    meter.part = board.part
    meter.begin()
    turn(meter)
    return meter


def turn(meter, ms=20):
    """A block passes."""
    meter.part.ms += ms
    meter.turn()


def words(meter):
    """What the screen says."""
    return meter.part.shown.words()


def tap(meter, key, press="tap"):
    meter.part.pressed = ((key, press),)
    turn(meter)


def hold(meter, key):
    tap(meter, key, "hold")


def sound(meter, hz, se_cents=0.05, flags=()):
    """A reed of that pitch is heard and measured; then it is quiet again."""
    from meter.pitch import Tone

    tone = Tone()
    tone.hz = hz
    tone.uhz = 0 if "unsteady" in flags else int(hz * 1e6)
    tone.se_cents = se_cents
    tone.flags = list(flags)
    tone.span = 8000
    tone.level_db = -20.0
    play(meter, tone)


def sound_on(meter, hz):
    """The reed that was heard sounds on at that pitch for as long as a new figure takes; 0: it does not."""
    listener = meter.ear.listener
    listener.phase = "release" if hz else "wait"
    listener.glimpse_hz = hz
    listener.count = 4096 if hz else 0
    listener.samples = array("h", (int(9000 * math.sin(2 * math.pi * hz * i / 16000)) for i in range(4096)))
    for _ in range(8):
        turn(meter)


def play(meter, tone):
    """The same of a pitch.Tone."""
    meter.ear.ready = tone
    turn(meter, 1500)
    meter.ear.listener.phase = "wait"
    turn(meter)


def requests(targets, state="covers off", work=()):
    """What the host asks for to put an instrument of these reeds, (place, breath, slide, member, hz), into the meter.

    One that is there several times is the control reed.
    """
    from wire import messages

    asked = [
        ("instrument", {
            "key": "00112233445566aa", "name": "Pocket", "layout": "pocket", "state": state, "reeds": len(targets),
            "reference_mhz": 440000, "tolerance_cc": 300, "pass_number": 2,
        })
    ]  # fmt: skip
    for reed in targets:
        place, breath, slide, member, hz = reed
        asked.append((
            "reed", {
                "ordinal": targets.index(reed), "target_uhz": int(hz * 1e6), "place": place, "breath": breath,
                "slide": slide, "plate": "upper", "member": member,
            },
        ))  # fmt: skip
    asked += [("work", values) for values in work]
    check = 0
    for name, values in asked:
        check = binascii.crc32(messages.ask(name, values).encode(), check)
    return asked + [("instrument-end", {"check": check})]  # noqa: RUF005  (MicroPython has no other way)


def put(meter, targets, state="covers off", work=()):
    """Does what these requests ask for."""
    for name, values in requests(targets, state, work):
        meter.answers.answer(name, values)
    meter.notice_instrument()
    turn(meter)
