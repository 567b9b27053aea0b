"""Hears one tone with the firmware's own ear and says its pitch. On the board, with the firmware's files:

mpremote run hardware/on_board/tone.py
"""

# ruff: noqa: I001
import main  # noqa: F401 - it knows where the firmware lies
from meter.memory import samples  # before the rest: the largest piece of memory
from board import microphone
from meter.ear import Ear

source = microphone.Microphone()
ear = Ear(source, samples)
source.start()
print("listening: be quiet for a second, then sound a tone for two")
tone = None
while tone is None:
    if ear.step():
        tone = ear.tone()
source.stop()
words = ", ".join(tone.flags) or "good"
print(f"{tone.uhz // 1000000}.{tone.uhz % 1000000:06} Hz, level {tone.level_db:.1f} dB, {words}")
