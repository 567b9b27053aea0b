"""Runs on MicroPython: the whole hearing chain over a recording, as if the microphone had heard it."""

from meter.ear import Ear
from meter.memory import samples


class Recording:
    """A microphone whose words are those of an open file. `losses`: [place, samples lost there] of each gap."""

    def __init__(self, file, losses):
        self._file = file
        self._losses = losses
        self.count = 0
        self.over = False

    def read(self, words):
        for i in range(len(words)):
            words[i] = 0
        self.over = (self._file.readinto(words) or 0) < 4 * len(words)
        self.count += len(words)
        return self._losses.pop(0)[1] if self._losses and self.count > self._losses[0][0] else 0


def hear(path, expected_hz, losses):
    """What the chain makes of it: the tones `heard`, in order, and the listener's last `phase` and `refused`."""
    heard = []
    with open(path, "rb") as file:
        recording = Recording(file, losses)
        ear = Ear(recording, samples)
        while not recording.over:
            if ear.step(expected_hz):
                tone = ear.tone(expected_hz)
                if tone is not None:
                    heard.append(
                        {
                            "hz": tone.hz,
                            "uhz": tone.uhz,
                            "se": tone.se_cents,
                            "flags": tone.flags,
                            "start": tone.start,
                            "span": tone.span,
                        }
                    )
    return {"heard": heard, "phase": ear.listener.phase, "refused": ear.listener.refused}
