"""The meter: wires the board's parts and the pure ones together, and runs them.

One loop, one block of 16 ms at a time. While a tone is gathered nothing else may take long; between soundings
the link is served and the keys are read. Flash is written only by the journal and the shelf, which stop the
microphone for it.
"""

import sys

# First what needs large pieces of memory, while there are any.
from meter.memory import samples
from board import microphone
from board import clock, keys, port, power, screen, store
from meter.answers import Answers
from meter.ear import Ear
from meter.hand import Hand
from meter.journal import Journal
from meter.link import Link
from meter.scribe import Scribe
from meter.settings import Settings
from meter.shelf import Shelf
from meter.store import Store
from meter.survey import Survey
from screens import logic
from wire import record
from wire.errors import WireError

FIRMWARE = "0.1.0"
LEAVE_KEY = "down"  # held at power-up: straight to MicroPython's own prompt


class Meter:
    """All parts of one meter. `run` does not return until the firmware is asked to leave."""

    def __init__(self):
        self.microphone = microphone.Microphone()
        self.ear = Ear(self.microphone, samples)
        self.keys = keys.Keys()
        self.screen = screen.Screen()
        try:
            self._remember(Store(store.mount(), self.microphone))
        except WireError:
            self.screen.show(logic.notice_view("unread"))
            raise
        self.scribe = Scribe(
            self.journal, self.settings, clock, power.temperature_dc, self.microphone.rate, self.microphone.rate_ppb
        )
        answers = Answers(self.journal, self.shelf, self.settings, clock, power, FIRMWARE, self.activity)
        self.link = Link(port.Port(), answers)
        self.hand = Hand(self.settings)
        self.survey = None
        self.fault = None  # what kept the last take from being saved
        self._instrument = None
        self._shown = None

    def _remember(self, files):
        """Looks at what is on flash."""
        self.settings = Settings(files)
        logic.speak(self.settings.language)
        self.screen.show(logic.start_view(FIRMWARE))  # stays while the journal is scanned
        self.journal = Journal(files, power.entropy)
        self.shelf = Shelf(files)

    def activity(self):
        """(what the meter is doing, reeds done, reeds in the survey, whether it is in the middle of a take)."""
        if self.survey is None:
            return "idle", 0, 0, False
        doing = "surveyed" if self.survey.finished and self.scribe.ended else "survey"
        in_take = self.ear.listener.phase not in ("wait", "release")
        return doing, self.survey.done(), len(self.survey.marks), in_take

    def run(self):
        self.notice_instrument()  # the one that was there before the power went
        self.microphone.start()
        while True:
            self.listen()
            if self.ear.listener.phase in ("wait", "release"):
                self.press()
                while self.link.serve():
                    self.notice_room()
                    self.notice_instrument()
                self.close_survey()
            self.show()

    def listen(self):
        """One block; a tone that is complete is measured, judged and saved."""
        expected_hz = self.survey.expected_hz() if self.survey else 0.0
        if not self.ear.step(expected_hz):
            return
        self.show()
        tone = self.measured(expected_hz)
        if tone is None or self.survey is None:
            return
        outcome = self.survey.judge(tone, clock.ticks_ms())
        if outcome.verdict != "stray":
            self.hand.helping = False
        if outcome.verdict in ("wrong", "stray"):
            return
        try:
            self.scribe.keep(self.survey, outcome, tone)
            self.fault = None
        except WireError as error:
            self.fault = error
            self.survey.unsay()

    def press(self):
        """What the keys ask for; nothing while a trouble has the screen."""
        for key, press in self.keys.poll():
            if self.fault or self.microphone.missing:
                continue
            try:
                self.hand.press(key, press, self.survey, clock.ticks_ms())
            except WireError as error:
                self.fault = error
            logic.speak(self.settings.language)

    def measured(self, expected_hz):
        """The tone that is ready, or None. A fault of ours in measuring costs this sounding, not the survey."""
        try:
            return self.ear.tone(expected_hz)
        except Exception as error:
            sys.print_exception(error)  # to whoever watches the port; a host skips what is no line of the link
            self.ear.drop()
            return None

    def notice_instrument(self):
        """A new instrument on the shelf begins a new survey."""
        if self.shelf.current is not self._instrument:
            self._instrument = self.shelf.current
            self.survey = Survey(self._instrument)
            self.scribe.begin()
            self.hand.helping = False
            self.fault = None

    def notice_room(self):
        """After the host has made room, the memory is no longer full."""
        if self.fault and self.fault.code == "full" and self.journal.free() > 2 * record.PAYLOAD_MAX:
            self.fault = None

    def close_survey(self):
        """Marks the survey complete once its last reed can no longer be redone."""
        survey = self.survey
        if not survey or not survey.finished or self.fault:
            return
        if not survey.open_for_redo(clock.ticks_ms()):
            try:
                self.scribe.end()
            except WireError as error:
                self.fault = error

    def leave(self):
        self.screen.show(logic.notice_view("left"))

    def show(self):
        if self.microphone.missing:
            view = logic.notice_view("microphone")
        elif self.fault:
            view = logic.notice_view("full" if self.fault.code == "full" else "store")
        elif self.hand.helping and (self.survey is None or self.ear.listener.phase == "wait"):
            view = logic.notice_view("keys")
        elif self.survey:
            self.survey.phase = self.ear.listener.phase
            view = logic.survey_view(self.survey)
        else:
            view = logic.idle_view({"records": self.journal.next_seq - self.journal.first_seq})
        if view != self._shown:
            self._shown = view
            self.screen.show(view)


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
