"""Who plays in front of the desk meter's microphone.

A player reads the words on the meter's screen, as a person does, and sounds what they ask for. It hands over
samples one block at a time; `lost_ms` tells it for how long nobody listened. Only `ReedPlayer` knows hidden errors.
"""

import itertools
import json
import re
import stat
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from reedbench.desk import reeds
from reedbench.desk.audio import RATE, Words, read_words, to_words, write_words
from reedbench.desk.scenario import SCATTER_CENTS, Scenario
from reedbench.errors import BadInput
from reedbench.firmware.screens import strings_de, strings_en
from reedbench.firmware.screens.words import Words as Said
from reedbench.instrument import InstrumentReed
from reedbench.output import clean

ROOM_DBFS = -78.0  # a quiet workshop, in the microphone
Address = tuple[str, ...]  # what there is of place, breath, slide and member


def asked(words: Sequence[str]) -> Address | None:
    """The reed that the screen asks to be sounded, or None while it does not."""
    found = (_asked_in(Said("\n" + "".join(said.SECTIONS.values())), words) for said in (strings_en, strings_de))
    return next(filter(None, found), None)


def _asked_in(text: Said, words: Sequence[str]) -> Address | None:
    """The same, of a screen in the language of `text`."""
    task = "|".join(text[name].replace("%s", ".*") for name in ("sound", "both", "again", "go", "wrong"))
    if not any(re.fullmatch(task, word) for word in words):
        return None
    for kind, breaths in (("hole", ("blow", "draw")), ("key", ("push", "pull"))):
        known = {text[breath]: breath for breath in breaths}
        known |= {text[f"slide {slide}"]: slide for slide in ("out", "in")}
        for at, word in enumerate(words):
            if place := re.fullmatch(text[kind].replace("%s", "(.*)"), word):
                called = list(itertools.takewhile(known.__contains__, words[at + 1 :]))
                member = words[at + 1 + len(called) : at + 2 + len(called)]
                if any(re.fullmatch(rf"[+-]?[0-9.]+|{text['no figure']}|{task}", word) for word in member):
                    member = ()
                return (place[1], *(known[word] for word in called), *member)
    return None


def address_of(reed: InstrumentReed) -> Address:
    """How the screen calls the reed."""
    return tuple(filter(None, (reed.place, reed.breath, reed.slide, reed.member)))


@dataclass
class Sounding:
    """What was played: asked for as `address`, the `number`-th time, from the meter's sample `start` on.

    track: true pitch in hertz per sample, NaN where nothing sounds; empty where only a recording is known.
    """

    address: Address
    number: int
    start: int
    words: Words
    track: reeds.Samples
    file: str = ""

    def sounded_hz(self, start: int, span: int) -> float | None:
        """Mean pitch as sounded over `span` samples from the meter's sample `start` on; None if it is not known."""
        part = self.track[start - self.start : start - self.start + span]
        return float(np.mean(part)) if len(part) == span > 0 and np.all(np.isfinite(part)) else None


class Player:
    """A quiet room. Subclasses say what is sounded for an address in `_play`.

    `rate`: samples that the meter takes in a second; other than RATE, what it believes, where its crystal runs off.
    """

    rate: float = RATE

    def __init__(self, seed: int = 0, keep: Path | None = None) -> None:
        self._seed = seed
        self._room = np.random.default_rng((seed, 1))
        self.keep = keep
        self.soundings: list[Sounding] = []
        self.words: list[str] = []
        self._numbers: dict[Address, int] = {}
        self._queue = np.zeros(0, np.int32)

    @property
    def resting(self) -> bool:
        """Whether nothing is being sounded or asked for."""
        return not len(self._queue) and asked(self.words) is None

    def samples(self, need: int, count: int, lost_ms: int, words: list[str] | None) -> Words:
        """The next `need` microphone words; `count` is how many the meter has had."""
        if words is not None:
            self.words = words
        if lost_ms:
            self._queue = self._queue[lost_ms * RATE // 1000 :]
        if not len(self._queue):
            address = asked(self.words)
            if address:
                self._begin(address, count)
        part, self._queue = self._queue[:need], self._queue[need:]
        if len(part) < need:
            part = np.concatenate((part, to_words(self.room(need - len(part)))))
        return part

    def room(self, count: int) -> reeds.Samples:
        """What the microphone hears of the room."""
        return self._room.standard_normal(count) * 10 ** (ROOM_DBFS / 20)

    def _begin(self, address: Address, count: int) -> None:
        number = self._numbers[address] = self._numbers.get(address, 0) + 1
        played = self._play(address, number)
        if played is None:
            return
        words, track, file = played
        if self.keep:
            file = file_name(address, number)
            write_words(self.keep / file, words)
        self.soundings.append(Sounding(address, number, count, words, track, file))
        self._queue = words

    def _play(self, address: Address, number: int) -> tuple[Words, reeds.Samples, str] | None:
        return None

    def close(self) -> None:
        """Nobody listens any more."""


def file_name(address: Address, number: int) -> str:
    """Name of the file that keeps the `number`-th sounding for `address`."""
    return "-".join(re.sub(r"[^A-Za-z0-9]", "_", part) for part in address if part) + f"-{number}.wav"


class FolderPlayer(Player):
    """Plays kept soundings: for each address the files `file_name` gives, in turn, the last one for ever."""

    def __init__(self, folder: Path) -> None:
        super().__init__()
        self._folder = folder
        if not any(folder.glob("*.wav")):
            raise BadInput(f"{folder}: there are no recordings of soundings in this folder")

    def _play(self, address: Address, number: int) -> tuple[Words, reeds.Samples, str] | None:
        while number and not (self._folder / file_name(address, number)).exists():
            number -= 1
        if not number:
            return None
        file = file_name(address, number)
        return read_words(self._folder / file), np.zeros(0), file


class FilePlayer(Player):
    """Plays one recording, once, whatever the screen says, then leaves the room quiet."""

    def __init__(self, path: Path) -> None:
        super().__init__()
        self._queue = read_words(path)


class ReedPlayer(Player):
    """Sounds an instrument with hidden errors, with a player's scatter and faults.

    `level_dbfs`: of the tone in the microphone, RMS, a full-scale square wave being 0.
    """

    level_dbfs = -24.0

    def __init__(self, scenario: Scenario, keep: Path | None = None) -> None:
        super().__init__(scenario.seed, keep)
        self._scenario = scenario
        self._reeds = {address_of(reed): reed for reed in scenario.instrument.reeds}
        self._voices = [
            reeds.Voice.draw(self._steady_hz(reed), np.random.default_rng((scenario.seed, 2, reed.ordinal)))
            for reed in scenario.instrument.reeds
        ]
        if keep:
            keep.mkdir(parents=True, exist_ok=True)

    def _steady_hz(self, reed: InstrumentReed) -> float:
        return float(reed.target_hz * 2 ** (self._scenario.hidden_cents[reed.ordinal] / 1200))

    def _play(self, address: Address, number: int) -> tuple[Words, reeds.Samples, str] | None:
        reed = self._reeds.get(address)
        if reed is None:
            return None
        fault = next((name for name, ordinal in self._scenario.faults.items() if ordinal == reed.ordinal), "")
        # Every sounding has a stream of its own: how long the room was listened to before changes nothing.
        rng = np.random.default_rng((self._seed, 3, reed.ordinal, number))
        breath = {
            "tone_s": float(rng.uniform(1.35, 1.6)) + (0.2 if reed.target_hz < 250 else 0.0),
            "level_dbfs": float(rng.normal(self.level_dbfs, 2.0)),
            "scatter_cents": float(rng.normal(0, SCATTER_CENTS)),
            "sway_cents": float(rng.uniform(0.1, 0.4)),
            "sway_hz": float(rng.uniform(0.35, 0.58)),
            "sway_phase": float(rng.uniform(0, 2 * np.pi)),
        }
        bend: tuple[tuple[float, float], ...] = ()
        lead = self.room(int(rng.uniform(0.25, 0.45) * RATE))
        if fault == "unsettled":
            breath["wander_cents"] = float(rng.uniform(9, 13))
        elif fault == "pulled" and number == 1:
            bend = ((0.55, 0.0), (0.75, -20.0), (0.95, 0.0))
        elif fault == "stray" and number == 1:
            breath["scatter_cents"] += 4.0  # one careless breath: the takes will disagree
        elif fault == "wrong" and number == 1:
            reed = self._neighbour(reed)
        elif fault == "cough" and number == 1:
            lead = np.concatenate((lead, reeds.cough(RATE, rng), self.room(int(0.4 * RATE))))
        hz = self._steady_hz(reed)
        tone, track = reeds.sound(hz, self._voices[reed.ordinal], reeds.Breath(**breath, bend=bend), self.rate, rng)
        after = self.room(int(0.12 * RATE))
        pressure = np.concatenate((lead, tone + self.room(len(tone)), after))
        heard = self.heard(pressure, slice(len(lead), len(lead) + len(tone)), rng)
        silent = np.full(len(lead), np.nan)
        return to_words(heard), np.concatenate((silent, track, np.full(len(after), np.nan))), ""

    def heard(self, pressure: reeds.Samples, blown: slice, rng: np.random.Generator) -> reeds.Samples:
        """What the microphone makes of a sounding, while whose part `blown` the player breathes: nothing else."""
        return pressure

    def _neighbour(self, reed: InstrumentReed) -> InstrumentReed:
        """The reed that sounds if the slide is forgotten."""
        other = "out" if reed.slide == "in" else "in"
        return self._reeds.get(address_of(replace(reed, slide=other)), reed)


def player_for(source: Path, seed: int | None = None) -> Player:
    """The player for what `--mic` names: a folder of soundings, a WAV file, an instrument with hidden errors, or one
    without, for which `seed` invents them. BadInput for anything else, and for a seed where it means nothing."""
    where = clean(str(source))
    start = b""
    try:
        mode = source.stat().st_mode
        if stat.S_ISREG(mode):
            with source.open("rb") as file:
                start = file.read(64)
        elif not stat.S_ISDIR(mode):
            raise BadInput(f"{where}: is not a file with a recording")
    except (OSError, ValueError) as error:
        raise BadInput(f"{where}: cannot be read: {getattr(error, 'strerror', None) or error}") from error
    if start.lstrip()[:1] == b"{":
        return ReedPlayer(Scenario.read(source, seed))
    if seed is not None:
        raise BadInput(f"{where}: a recording has no errors to be invented: leave --seed out")
    return FolderPlayer(source) if stat.S_ISDIR(mode) else FilePlayer(source)


@dataclass(frozen=True)
class Request:
    """One line of the desk meter's microphone; `words` and `pixels` are None where they are as before."""

    need: int
    count: int
    lost_ms: int
    words: list[str] | None
    pixels: bytes | None

    @classmethod
    def read(cls, line: bytes) -> "Request":
        """The request in a line, as boards/desk/microphone.py writes it."""
        values = json.loads(line)
        pixels = bytes.fromhex(values["pixels"]) if "pixels" in values else None
        return cls(values["need"], values["count"], values.get("lost_ms", 0), values.get("words"), pixels)
