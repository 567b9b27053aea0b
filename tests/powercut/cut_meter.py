"""Runs on MicroPython: the whole firmware on a flash in memory that notes every erase and program.

One line on standard input is one thing that happens. What begins with a brace is JSON and answered in JSON, once
the firmware is through with it; all else comes over the link.

    {"image": FILE, "log": FILE, "bad": {...}}   the power comes on; the flash comes from the one file, what is done to
                                                 it goes to the other
    {"sound": CENTS, "flags": [...], "again": bool}  the reed that is wanted sounds, or again the one before
    {"rest": MS, "press": [[KEY, PRESS], ...]}   time passes, and keys are pressed
    {"off": 0}                                   the power goes
"""

import gc
import io
import json
import os
import struct
import sys
from array import array

import vfs

sys.path[0] = sys.argv[1]

from boards.desk import flash, store  # noqa: E402
from meter import journal  # noqa: E402

journal.RESERVE = 28 * 4096  # this flash is smaller than a board's, and so is its instrument

SERIAL = "cut"
OP = "<BHHH"  # erase 0 or program 1, sector, offset, length; the bytes programmed follow
EIO = 5


class Flash(flash.Flash):
    """`log`: file in which every erase and program is noted. `bad`: what is the matter with which sector: "dead" takes
    nothing in, "error" says so as well."""

    def __init__(self, image, log, bad):
        self._image = io.BytesIO(image)
        self._sectors = len(image) // flash.SECTOR
        self._log = log
        self._bad = bad
        self.operations = 0

    def image(self):
        return self._image.getvalue()

    def writeblocks(self, sector, data, offset=0):
        self._note(1, sector, offset, data)
        if sector not in self._bad:
            super().writeblocks(sector, data, offset)
        return -EIO if self._bad.get(sector) == "error" else None

    def ioctl(self, request, argument):
        if request == 4:
            return self._sectors
        if request != 6:
            return super().ioctl(request, argument)
        self._note(0, argument, 0, b"")
        if argument not in self._bad:
            self._erase(argument)
        return -EIO if self._bad.get(argument) == "error" else 0

    def _note(self, kind, sector, offset, data):
        self.operations += 1
        self._log.write(struct.pack(OP, kind, sector, offset, len(data)))
        self._log.write(data)


class Clock:
    ms = 0
    unix = 0

    def ticks_ms(self):
        return self.ms

    def ticks_us(self):
        return 1000 * self.ms % (1 << 30)

    def up_s(self):
        return self.ms // 1000

    def unix_s(self):
        return self.unix

    def set_unix(self, unix_s):
        Clock.unix = unix_s


class Power:
    NAME = "bench"
    drawn = 0

    def serial(self):
        return SERIAL

    def cell_mv(self):
        return None

    def temperature_dc(self):
        return None

    def leave(self):
        raise PowerOff()

    def entropy(self):
        # Another number for each journal: what is begun twice must not look the same.
        Power.drawn += 1
        return Power.drawn


class PowerOff(BaseException):
    pass


class Microphone:
    rate = 16000
    rate_ppb = 0
    missing = ""
    behind = False
    count = 0
    running = False

    def start(self):
        self.running = True

    def stop(self):
        self.running = False


class Keys:
    pressed = ()

    def poll(self):
        pressed, Keys.pressed = Keys.pressed, ()
        return pressed

    def held_at_start(self, key):
        return False


class Screen:
    missing = ""
    words = ()

    def show(self, view):
        Screen.words = view.words()

    def light(self, level, turned):
        pass


class Port:
    connected = True
    heard = b""

    def read(self):
        data, Port.heard = Port.heard, b""
        return data

    def write(self, data):
        sys.stdout.buffer.write(data)


class Board:
    """What the firmware finds as `board`."""

    def __init__(self):
        self.clock = Clock()
        self.power = Power()
        self.store = self
        self.microphone = self.keys = self.screen = self.port = self
        self.Microphone, self.Keys, self.Screen, self.Port = Microphone, Keys, Screen, Port

    def mount(self):
        """By the desk's own rule, which is the Pico's."""
        store.Flash = lambda path: self.flash
        store.settings["flash"] = None
        return store.mount()


class Listener:
    phase = "wait"
    count = 0
    glimpse_hz = 0.0

    def hint(self):
        return ""


class Band:
    """What baseband.Baseband would keep of two reeds."""

    beat_hz = 0
    harmonics = (1, 2, 3)
    length, turn, count = 200, 2048 * 3, 60

    def __init__(self):
        self.points = [[100 * h + i for i in range(2 * self.count)] for h in self.harmonics]


class Tone:
    """What pitch.Pitch would make of a sounding."""

    def __init__(self, hz, flags, start):
        self.uhz = 0 if "unsteady" in flags else int(hz * 1000) * 1000
        self.hz = hz
        self.se_cents = 0.05
        self.check_cents = 0.0
        self.drift_cents_s = 0.1
        self.level_db = -20.0
        self.flags = flags
        self.harmonics = 6
        self.strongest = 2
        self.start = start
        self.span = 8000
        self.trace_cents = [0.1 * (i % 5) for i in range(32)]
        self.pair = None
        self.band = Band() if "two-reeds" in flags else None
        self.trace_level_db = [-0.25 * (i % 3) for i in range(32)]


class Ear:
    """Hears what standard input says. Each call of `step` is one turn of the firmware's own loop."""

    level_db = -80.0

    def __init__(self, *_):
        self.listener = Listener()
        self._turns = 0
        self._owing = "boot"
        self._said = None
        self._soundings = 0

    def live(self):
        from meter.live import Live
        from meter.mixing import Mixer

        return Live(self.listener, Mixer(array("i", (0 for _ in range(2048)))))

    def step(self, expected_hz=0.0):
        if not self._turns:
            self._turns = 1
            return False  # a first turn in quiet, in which the firmware looks round
        if self._owing:
            reply(self._owing, words=list(Screen.words), language=board.meter.settings.language)
            self._owing = ""
        self.listener.phase = "wait"
        line = sys.stdin.buffer.readline()
        if line and line[:1] != b"{":
            Port.heard = line
            return False
        self._said = json.loads(line or '{"off": 0}')
        if "off" in self._said:
            raise PowerOff()
        if "rest" in self._said:
            Clock.ms += self._said["rest"]
            Keys.pressed = tuple([tuple(press) for press in self._said["press"]])
        self._owing = "sound" if "sound" in self._said else "rest"
        return "sound" in self._said

    def tone(self, expected_hz=0.0):
        self.listener.phase = "release"
        Clock.ms += 1500
        self._soundings += 1
        if not self._said["again"]:
            self._reed_hz = expected_hz
        hz = self._reed_hz * 2 ** (self._said["sound"] / 1200)
        return Tone(hz, list(self._said["flags"]), self._soundings * 24000)

    def drop(self):
        self.listener.phase = "release"


def reply(did, **values):
    values.update(did=did, operations=board.flash.operations)
    sys.stdout.buffer.write(json.dumps(values).encode() + b"\n")


def boot(told):
    """One life of the meter, from power on to power off; what is on flash then goes back to where it came from."""
    Screen.words, Port.heard, Clock.unix = (), b"", 0
    gc.collect()
    image = bytearray(os.stat(told["image"])[6])
    with open(told["image"], "rb") as file:
        file.readinto(image)  # `read` takes a hundred times as long
    bad = {int(sector): why for sector, why in told["bad"].items()}
    with open(told["log"], "wb") as log:
        board.flash = Flash(image, log, bad)
        try:
            board.meter = main.Meter()
            board.meter.run()
        except PowerOff:
            pass
        finally:
            board.meter = None
            vfs.umount("/flash")
    with open(told["image"], "wb") as file:
        file.write(board.flash.image())
    reply("off")


board = sys.modules["board"] = Board()

import main  # noqa: E402
from meter import ear  # noqa: E402

ear.Ear = Ear
while True:
    line = sys.stdin.buffer.readline()
    if not line:
        break
    boot(json.loads(line))
