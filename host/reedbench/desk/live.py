"""The computer's own microphone, before the desk meter's."""

import queue
from typing import Any

import numpy as np

from reedbench.desk.audio import RATE, Words, to_words
from reedbench.desk.players import Player
from reedbench.desk.reeds import Samples
from reedbench.errors import Failed

PATIENCE_S = 5.0


class LivePlayer(Player):
    """Whoever plays in front of this computer. Time passes as the sound comes in."""

    resting = False

    def __init__(self) -> None:
        super().__init__()
        try:
            import sounddevice
        except (ImportError, OSError) as error:
            raise Failed(
                "--live needs the package sounddevice (`pip install sounddevice`) and the library it opens the "
                "microphone with, PortAudio (on Debian and its kin `sudo apt install libportaudio2`)"
            ) from error
        self._coming: queue.SimpleQueue[Samples] = queue.SimpleQueue()
        try:
            self._stream = sounddevice.InputStream(samplerate=RATE, channels=1, dtype="float32", callback=self._came)
            self._stream.start()
        except sounddevice.PortAudioError as error:
            raise Failed(f"this computer's microphone cannot be used: {error}") from error

    def _came(self, block: Any, frames: int, when: Any, status: Any) -> None:
        """Called with every block of sound, in a thread of the library's own."""
        self._coming.put(np.array(block[:, 0], np.float64))

    def samples(self, need: int, count: int, lost_ms: int, words: list[str] | None) -> Words:
        if words is not None:
            self.words = words
        skipped = lost_ms * RATE // 1000
        while len(self._queue) < skipped + need:
            try:
                block = self._coming.get(timeout=PATIENCE_S)
            except queue.Empty:
                raise Failed("this computer's microphone has fallen silent: is it still plugged in?") from None
            self._queue = np.concatenate((self._queue, to_words(np.nan_to_num(block))))
        part = self._queue[skipped : skipped + need]
        self._queue = self._queue[skipped + need :]
        return part

    def close(self) -> None:
        self._stream.close()
