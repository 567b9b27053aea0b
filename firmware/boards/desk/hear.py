"""Listens to recordings the way the meter listens to a microphone, and prints what it would keep.

    micropython -X heapsize=4m firmware/boards/desk/hear.py < LIST

Each line of LIST is a JSON object: {"file": path of little-endian 32-bit microphone words at 16 kHz, "expected_hz":
the reed expected, or 0, "both": whether two reeds are to sound}. A recording counts as followed by silence. Prints one
JSON object a line in answer.
"""

import json
import sys

sys.path[0] = (__file__.rsplit("/", 1)[0] if "/" in __file__ else ".") + "/../.."

from meter.coarse import RATE
from meter.ear import Ear
from meter.memory import samples

SILENCE = RATE // 2  # samples after the recording


class Recording:
    """A microphone that plays a file of words."""

    def __init__(self, path):
        self._file = open(path, "rb")
        self.count = 0
        self._after = SILENCE

    def read(self, words):
        view = memoryview(words)
        for i in range(len(words)):
            view[i] = 0
        got = self._file.readinto(words) or 0
        if got < 4 * len(words):
            self._after -= len(words) - got // 4
        self.count += len(words)
        return 0

    def over(self):
        return self._after <= 0


def told(band):
    """The baseband.Baseband of a tone, as a dict."""
    points = [list(points[: 2 * band.count]) for points, _ in zip(band.points, band.harmonics)]
    return {"length": band.length, "turn": band.turn, "harmonics": band.harmonics, "points": points}


def listen(path, expected_hz, both):
    """Everything heard in one recording, as a dict."""
    recording = Recording(path)
    ear = Ear(recording, samples)
    ear.both = both
    listener = ear.listener
    heard = {"takes": [], "refused": []}
    while not recording.over():
        ready = ear.step(expected_hz)
        if listener.refused:
            heard["refused"].append({"start": listener.onset, "why": listener.refused})
            listener.refused = ""
        if ready:
            tone = ear.tone(expected_hz)
            if tone is None:
                continue
            entry = {"start": tone.start, "span": tone.span, "uhz": tone.uhz, "flags": tone.flags}
            entry["se_cents"] = tone.se_cents
            entry["check_cents"] = tone.check_cents
            entry["drift_cents_per_s"] = tone.drift_cents_s
            entry["level_dbfs"] = tone.level_db
            if tone.band:
                entry["baseband"] = told(tone.band)
            if tone.uhz or tone.band:
                heard["takes"].append(entry)
            else:
                heard["refused"].append({"start": tone.start, "why": ", ".join(tone.flags)})
    return heard


for line in sys.stdin:
    wanted = json.loads(line)
    print(json.dumps(listen(wanted["file"], wanted["expected_hz"], wanted["both"])))
