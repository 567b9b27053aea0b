"""What the firmware makes of reeds under the conditions of desk/around.py: taken, flagged, or asked for again.

.venv/bin/python tests/bench/around.py    hears them (minutes) and writes docs/accuracy/around.md
"""

import math
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from reedbench import layouts
from reedbench.desk.around import AROUND, PlacedPlayer
from reedbench.desk.audio import write_words
from reedbench.desk.players import address_of
from reedbench.desk.scenario import Scenario
from reedbench.hearing import hear
from reedbench.instrument import Instrument

PAGE = Path(__file__).parents[2] / "docs" / "accuracy" / "around.md"
SOUNDINGS = 3  # of each reed
RATE = 16000
SEED = 21
ANOTHER_CENTS = 50.0  # off: not this reed's pitch, however good the figure
HEAD = """# Where the meter stands

<!-- Made by tests/bench/around.py. Do not edit. -->

Simulated: {reeds} reeds of a ten-hole instrument in C, {low:.0f} to {high:.0f} Hz, each sounded {soundings} times in
front of a model of the microphone, heard by the firmware's own code on MicroPython's Unix port with the reed expected,
as in a survey. Levels are those at the meter; [what the microphone hears](../../hardware/microphone.md) has their
sources. `reedbench desk --around NAME` is a desk meter that stands there. *Good*: a take without a flag. *Another*: the
pitch of another reed, half a semitone off or farther, which a survey takes for that and does not count. *Not heard*: no
take at all, for which a survey waits. The error is against the pitch sounded over the take's own span, of good takes.

| name | reed, dB SPL | beside it, dB SPL | good, % | flagged, % | another, % | not heard, % | flags | worst, cents |
| --- | --- | --- | --- | --- | --- | --- | --- | --- |
"""


@dataclass(frozen=True)
class Found:
    """Of all soundings: how many good, flagged, taken for another reed; what the flags were; worst error, cents."""

    soundings: int
    good: int
    flagged: int
    another: int
    flags: Counter[str]
    worst_cents: float

    @property
    def unheard(self) -> int:
        return self.soundings - self.good - self.flagged - self.another


def found(name: str, holes: int = 10, soundings: int = SOUNDINGS) -> Found:
    """What the firmware makes of the first `holes` holes' reeds, each sounded so many times."""
    instrument = Instrument("0123456789abcdef", "Around", layouts.load("richter-10"))
    player = PlacedPlayer(Scenario(SEED, instrument, (0.0,) * len(instrument.reeds), {}), AROUND[name])
    good = flagged = another = 0
    flags: Counter[str] = Counter()
    worst = 0.0
    with tempfile.TemporaryDirectory() as folder:
        chosen = [reed for reed in instrument.reeds if reed.hole <= holes]
        for reed in chosen:
            played, files = [], []
            for number in range(1, soundings + 1):
                words, track, _ = player._play(address_of(reed), number) or ([], [], "")
                played.append(track)
                files.append(Path(folder) / f"{reed.ordinal}-{number}.wav")
                write_words(files[-1], words)
            for track, heard in zip(played, hear(files, reed.target_hz), strict=True):
                if heard["takes"] and not heard["takes"][0]["flags"]:
                    take = heard["takes"][0]
                    start = round(take["start_s"] * RATE)
                    true = np.nanmean(track[start : start + round(take["span_s"] * RATE)])
                    cents = abs(1200 * math.log2(take["hz"] / true))
                    if cents > ANOTHER_CENTS:
                        another += 1
                        continue
                    good += 1
                    worst = max(worst, cents)
                elif heard["takes"]:
                    flagged += 1
                    flags.update(heard["takes"][0]["flags"])
                elif any(why["why"] != "no tone" for why in heard["refused"]):
                    flagged += 1
                    flags.update(heard["refused"][-1]["why"].split(", "))
    return Found(len(chosen) * soundings, good, flagged, another, flags, worst)


def row(name: str, what: Found) -> str:
    """One line of the table."""
    around = AROUND[name]
    beside = [f"room {around.room_db:.0f}"]
    beside += [f"wind {around.wind_db:.0f}"] if around.wind_m_s > 0.01 else []
    beside += [f"bench {around.hum_db:.0f}"] if around.hum_db is not None else []
    counts = (what.good, what.flagged, what.another, what.unheard)
    shares = " | ".join(f"{100 * count / what.soundings:.0f}" for count in counts)
    flags = ", ".join(f"{flag} {count}" for flag, count in what.flags.most_common()) or ""
    worst = f"{what.worst_cents:.3f}" if what.good else ""
    return f"| {name} | {around.tone_dbfs + 123:.0f} | {', '.join(beside)} | {shares} | {flags} | {worst} |\n"


if __name__ == "__main__":
    reeds = Instrument("0123456789abcdef", "Around", layouts.load("richter-10")).reeds
    pitches = [reed.target_hz for reed in reeds]
    page = HEAD.format(reeds=len(reeds), low=min(pitches), high=max(pitches), soundings=SOUNDINGS)
    for name in AROUND:
        page += row(name, found(name))
        print(page.splitlines()[-1], flush=True)
    PAGE.write_text(page, encoding="utf-8")
