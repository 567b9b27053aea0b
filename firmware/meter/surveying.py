"""A survey, as the meter does it: takes are judged and saved. It needs no key; what sounding cannot say they do.

at the question    up: how the reed sits    down: what moves the air    do: yes
in a survey        do: the question again   hold up: the reed before    hold down: leave this reed out
                   up: the whole instrument    down: a page about the keys; any key leads back
"""

from . import mode
from .progress import Progress
from .survey import FAR_CENTS, Survey, cents_between


class Mode(mode.Mode):
    """`survey`: a survey.Survey, None without an instrument. `live`: the running figure of the reed that sounds
    (live.Live). `page`: "whole" or "keys" where that is up, else ""."""

    def __init__(self, meter):
        self.meter = meter
        self.page = ""
        self.live = meter.ear.live()
        self.survey = None
        meter.scribe.begin()
        if meter.shelf.current:
            self.survey = Survey(meter.shelf.current)
            self._progress = Progress(meter.files, meter.journal)
            self._progress.restore(self.survey, meter.scribe)

    def expected_hz(self):
        return self.survey.expected_hz() if self.survey else 0.0

    def both(self):
        return self.survey is not None and self.survey.both()

    def follow(self, now_ms):
        return self.survey is not None and self.live.follow()

    def off(self):
        """Cents by which the running figure is off the reed that is called; None where it is another's, or none."""
        survey = self.survey
        if not self.live.sounding or survey.finished or survey.both():
            return None
        cents = cents_between(self.live.hz, survey.instrument.target_uhz(survey.index) / 1e6)
        return cents if abs(cents) < FAR_CENTS else None

    def heard(self, tone, now_ms):
        if not self.survey:
            return False
        outcome = self.survey.judge(tone, now_ms)
        if outcome.verdict != "stray":
            self.page = ""
        if outcome.verdict in ("wrong", "stray"):
            return False
        with self.meter.files.writing():  # all with the microphone stopped once
            self._keep(outcome, tone)
        return True

    def _keep(self, outcome, tone):
        try:
            if outcome.redo:
                # What a redo withdraws must not pass for done if the power goes before the take that replaces it.
                self._progress.keep(self.survey, self.meter.scribe)
            self.meter.scribe.keep(self.survey, outcome, tone)
        except Exception:
            self.survey.unsay()
            raise
        self._progress.keep(self.survey, self.meter.scribe)

    def rest(self, now_ms):
        """Marks the survey complete once its last reed can no longer be redone."""
        survey, scribe = self.survey, self.meter.scribe
        if survey and survey.finished and not scribe.ended and not survey.open_for_redo(now_ms):
            scribe.end()
            self._progress.keep(survey, scribe)

    def press(self, key, press, now_ms):
        survey, held = self.survey, press == "hold"
        if survey is None:
            return "menu"
        if self.page:
            self.page = ""
        elif survey.asking:
            if key == "do":
                survey.asking = False
            elif not held:
                survey.alter(key)
        elif key == "do":
            survey.asking = True
        elif not held:
            self.page = "whole" if key == "up" else "keys"
        else:
            if key == "up":
                survey.back()
            else:
                survey.leave_out(now_ms)
            self._progress.keep(survey, self.meter.scribe)
        return ""

    def activity(self):
        survey = self.survey
        if not survey:
            return mode.Mode.activity(self)
        doing = "surveyed" if survey.finished and self.meter.scribe.ended else "survey"
        return doing, survey.done(), len(survey.marks)
