"""The meter: wires the board's parts and the pure ones together, and runs them.

One loop, one block of 16 ms at a time. While a tone is gathered nothing else may take long; between soundings
the link is served and the keys are read. Flash is written only by what has a pen (meter/store.py), which stops the
microphone for it.
"""

import gc
import sys

# What loading leaves behind is taken away soon: else code comes to lie all over the memory, with holes between.
LOADING = 8192  # bytes
gc.threshold(LOADING)
# First what needs large pieces of memory, while there are any; then what the first screen is made with. All else is
# loaded while that stands: it takes a second.
from meter.memory import samples
from board import microphone
from board import clock, keys, power, screen, store
from meter.settings import LANGUAGES, Settings
from meter.store import Store
from screens import logic
from wire import record
from wire.errors import WireError

FIRMWARE = "0.1.0"
LEAVE_KEY = "down"  # held at power-up: straight to MicroPython's own prompt
MENU_KEY = ("do", "hold")  # from everywhere
_TURNED = {"up": "down", "down": "up"}  # where the keys are when the meter is held the other way round
DOZE_MS = 80  # asleep, between looks at keys and port: a host says nothing for 100 once plugged in (from memory)


class Meter:
    """All parts of one meter. `run` does not return until the firmware is asked to leave."""

    firmware = FIRMWARE

    def __init__(self):
        self.screen = screen.Screen()
        self.keys = keys.Keys()
        self.microphone = microphone.Microphone()
        try:
            self.files = Store(store.mount(), self.microphone)
            self.settings = Settings(self.files)
            logic.speak(LANGUAGES[self.settings.language], "menu")
            self.screen.show(logic.start_view(FIRMWARE))
            self._fill()
        except WireError:
            self.screen.show(logic.notice_view("unread"))
            raise
        self.cell_mv = power.cell_mv
        self.mode = self.view = None
        self.last = ""  # name of the mode before this one
        self.fault = None  # what kept something from being saved
        self._told = ""  # the trouble that has been put aside
        self._name = ""
        self._instrument = self.shelf.current
        self._news = 0  # how often something happened that may show
        self._state = self._shown = None  # what was shown last: of the meter, and the View

    def _fill(self):
        """The parts behind the first screen."""
        from board import port
        from meter import answers, ear, journal, link, progress, scribe, shelf, watch

        self._kept = set(sys.modules)  # what every mode needs
        self._progress = progress.Progress
        self.ear = ear.Ear(self.microphone, samples)
        self.journal = journal.Journal(self.files, power.entropy)
        self.shelf = shelf.Shelf(self.files)
        self.watch = watch.Watch(self.settings, self.screen.light, power.cell_mv)
        self.scribe = scribe.Scribe(
            self.journal, self.settings, clock, power.temperature_dc, self.microphone.rate, self.microphone.rate_ppb
        )
        self.answers = answers.Answers(self.journal, self.shelf, self.settings, clock, power, FIRMWARE, self.activity)
        self.link = link.Link(port.Port(), self.answers)

    def activity(self):
        """(what the meter is doing, reeds done, reeds there are, whether it is in the middle of a take)."""
        return self.mode.activity() + (self.ear.listener.phase not in ("wait", "release"),)

    def run(self):
        self.begin()
        while True:
            self.turn()

    def begin(self):
        """Enters the first mode: a survey that has not ended goes on, without a key."""
        waiting = self.shelf.current and not self._progress(self.files, self.journal).ended(self.shelf.current)
        self.enter("surveying" if waiting else "menu")
        self.microphone.start()
        self.watch.used(clock.ticks_ms())  # which a soft reset does not set back

    def turn(self):
        """One block, and what there is time for between soundings."""
        self.listen()
        listener = self.ear.listener
        if listener.phase != "wait":
            self.watch.used(clock.ticks_ms())
        if listener.phase in ("wait", "release"):
            self.press()
            tired = self.watch.rest(clock.ticks_ms(), self.serve())
            self.attempt(self.mode.rest, clock.ticks_ms())
            if tired and not listener.count:
                self.sleep()
        self.show()

    def serve(self):
        """Answers the host; whether it had asked anything."""
        asked = False
        while self.link.serve():
            asked = True
            self.notice_room()
            self.notice_instrument()
        return asked

    def sleep(self):
        """Display and microphone are off until a key, which does nothing else, or a host wakes it; nothing is lost."""
        self.screen.show(logic.notice_view("asleep"))
        self.watch.put(0)
        self.microphone.stop()
        while not (self.keys.poll() or self.serve()):
            power.rest(DOZE_MS)
        self.microphone.start()
        self.watch.used(clock.ticks_ms())
        self._state = self._shown = None

    def enter(self, name):
        """Leaves the mode at work, forgets it, and enters another."""
        if self.mode:
            self.attempt(self.mode.leave)
        self.mode = self.view = self._state = self._shown = None
        forget(self._kept)
        gc.threshold(LOADING)
        self.last, self._name = self._name, name
        doing, self.view = load(name)
        self.mode = doing(self)
        gc.threshold(-1)  # only when there is no more: a collection takes longer than a block of sound

    def attempt(self, do, *values):
        """Does what may have to save something; the result, or None where that failed, which `fault` then tells."""
        try:
            return do(*values)
        except WireError as error:
            self.fault = error

    def listen(self):
        """One block; a tone that is complete is measured and handed to the mode."""
        expected_hz = self.mode.expected_hz()
        self.ear.both = self.mode.both()
        if not self.ear.step(expected_hz):
            self._news += bool(self.mode.follow(clock.ticks_ms()))
            self.mode.hint = self.ear.listener.hint()
            return
        self.show()
        tone = self.measured(expected_hz)
        if tone is not None and self.watch.cell != "empty":
            self._news += 1
            if self.attempt(self.mode.heard, tone, clock.ticks_ms()):
                self.fault = None

    def measured(self, expected_hz):
        """The tone that is ready, or None. A fault of ours in measuring costs this sounding, not the survey."""
        try:
            return self.ear.tone(expected_hz)
        except Exception as error:
            sys.print_exception(error)  # to whoever watches the port; a host skips what is no line of the link
            self.ear.drop()
            return None

    def press(self):
        """What the keys ask for. A trouble that has the screen is put aside by any of them."""
        for key, press in self.keys.poll():
            self._news += 1
            if self.watch.used(clock.ticks_ms()):
                continue  # it only wakes the display
            if self.settings.turned:
                key = _TURNED.get(key, key)
            trouble = self.trouble()
            if trouble:
                self.fault = None
                self._told = trouble
            if (key, press) == MENU_KEY:
                self.enter("menu")
            elif not trouble:
                name = self.attempt(self.mode.press, key, press, clock.ticks_ms())
                if name:
                    self.enter(name)

    def notice_instrument(self):
        """A new instrument on the shelf begins a new survey."""
        if self.shelf.current is not self._instrument:
            self._instrument = self.shelf.current
            self.fault = None
            self.attempt(self._progress(self.files, self.journal).forget)
            self.enter("surveying")

    def notice_room(self):
        """After the host has made room, the memory is no longer full."""
        if self.fault and self.fault.code == "full" and self.journal.free() > 2 * record.PAYLOAD_MAX:
            self.fault = None

    def leave(self):
        self.screen.show(logic.notice_view("left"))

    def trouble(self):
        """Name of the trouble that has the screen, "" for none."""
        if self.watch.cell == "empty":
            return "empty"
        if self.microphone.missing and (self.mode.listens or self._told != "microphone"):
            return "microphone"
        if self.fault:
            return "full" if self.fault.code == "full" else "store"
        return "low" if self.watch.cell == "low" and self._told != "low" else ""

    def show(self):
        """Draws the screen if there may be something new on it; beside a sounding only what is worth the time.

        The microphone keeps an eighth of a second, and one screen takes up to a tenth: two in a row would lose samples.
        So none before there is a figure, and none while blocks wait to be read.
        """
        phase = self.ear.listener.phase
        if phase == "attack" or (phase in ("gather", "release") and self.microphone.behind):
            return
        trouble = self.trouble()
        state = (self.mode, self._news, phase, self.mode.hint, trouble, self.settings.language)
        if state == self._state:
            return
        self._state = state
        logic.speak(LANGUAGES[self.settings.language], self._name)
        self.mode.phase = phase
        view = logic.notice_view(trouble) if trouble else self.view(self.mode)
        if view != self._shown:
            self._shown = view
            self.screen.show(view)


def load(name):
    """(class Mode, function view) of the mode of that name."""
    if name == "menu":
        from meter import menu as doing
        from screens import menu as showing
    elif name == "surveying":
        from meter import surveying as doing
        from screens import surveying as showing
    elif name == "bench":
        from meter import bench as doing
        from screens import bench as showing
    elif name == "check":
        from meter import check as doing
        from screens import check as showing
    elif name == "hearing":
        from meter import hearing as doing
        from screens import hearing as showing
    elif name == "setup":
        from meter import setup as doing
        from screens import setup as showing
    return doing.Mode, showing.view


def forget(kept):
    """Lets go of every module but those `kept`: there is no memory for the modules of all modes at once."""
    for name in [name for name in sys.modules if name not in kept]:
        room, _, own = name.rpartition(".")
        if room:
            delattr(sys.modules[room], own)
        del sys.modules[name]


def main():
    """Runs the meter until it is asked to leave, then returns to whoever started it."""
    meter = Meter()
    if meter.keys.held_at_start(LEAVE_KEY):
        return
    try:
        meter.run()
    except SystemExit:
        meter.leave()
    finally:
        # At MicroPython's prompt files can be written, which must not happen beside a running microphone.
        meter.microphone.stop()
