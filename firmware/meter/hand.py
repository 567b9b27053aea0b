"""What the three keys do. A survey needs none of them; they are for what sounding alone cannot say.

at the question      up: how the reed sits    down: what moves the air    do: yes
in a survey          do: the question again   hold up: the reed before    hold down: leave this reed out
up or down           a page that says so, where do changes the language and any other key leads back
"""


class Hand:
    """`settings`: meter.settings.Settings. `helping`: whether the page about the keys is up."""

    def __init__(self, settings):
        self._settings = settings
        self.helping = False

    def press(self, key, press, survey, now_ms):
        """One press of a key, as the board's `keys` tells it; `survey` is None where there is no instrument.

        Raises WireError where a setting cannot be kept.
        """
        held = press == "hold"
        if self.helping:
            if key == "do":
                self._settings.next_language()
            else:
                self.helping = False
        elif survey is None:
            self.helping = True
        elif survey.asking:
            if key == "do":
                survey.asking = False
            elif not held:
                survey.alter(key)
        elif key == "do":
            survey.asking = True
        elif not held:
            self.helping = True
        elif key == "up":
            survey.back()
        else:
            survey.leave_out(now_ms)
