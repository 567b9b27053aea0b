"""The largest piece of memory. main.py loads it first, while a board's heap is still in one piece."""

SAMPLES_MOST = 16000 + 256  # a second of tone at 16 kHz, and the block in which it ends

samples = bytearray(2 * SAMPLES_MOST)  # 16 bits each; there is one microphone, and one tone at a time
