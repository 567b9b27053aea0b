"""WAV files in and out: any usual recording to the meter's microphone words, and soundings to files.

The meter's microphone delivers 24 bits, left-justified in 32. `wav` finds the sound in a file; the filter of
the resampling is scipy's.
"""

import wave
from collections.abc import Iterable, Iterator
from math import ceil, gcd
from os import PathLike
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import firwin, resample_poly

from reedbench.desk.wav import Samples, find_sound
from reedbench.errors import BadInput
from reedbench.output import note

RATE = 16000
REACH = 48  # of the filter to each side, in samples of the slower rate
COMMON_LEAST = 4  # with RATE; an odd rate such as 44101 would need a filter of gigabytes
Words = NDArray[np.int32]


def read_words(path: str | PathLike[str]) -> Words:
    """The recording at `path` as microphone words at RATE; several channels are averaged.

    WAV with 8, 16, 24 or 32-bit integers or floats, 8 to 192 kHz. BadInput, one line, for anything else.
    """
    sound = find_sound(path)
    if gcd(sound.rate, RATE) < COMMON_LEAST:
        raise BadInput(f"{sound.where}: {sound.rate} samples per second is no usual rate: save it with 48000")
    if sound.missing_s:
        note(f"{sound.where}: the last {sound.missing_s:.1f} s that its head speaks of are missing")
    return np.concatenate([to_words(part) for part in resampled(sound.blocks(), sound.rate)])


def resampled(blocks: Iterable[Samples], rate: int) -> Iterator[Samples]:
    """The sound in `blocks` at RATE, in blocks of its own.

    The filter is linear-phase, flat to 7.2 kHz and 80 dB down at the fold. Each block is filtered together with
    as much of its neighbours as the filter reaches, so that the joints leave no trace.
    """
    if rate == RATE:
        yield from blocks
        return
    common = gcd(rate, RATE)
    up, down = RATE // common, rate // common
    wider = max(up, down)
    taps = firwin(2 * REACH * wider + 1, 0.95 / wider, window=("kaiser", 8.0))
    # Blocks begin and end where a sample of the old rate and one of the new coincide, every `down` samples.
    reach = ceil(REACH * wider / up / down) * down
    step = down * ceil(max(2 * reach, 1 << 16) / down)
    held = np.zeros(reach)  # silence before the first sample
    for block in blocks:
        held = np.concatenate((held, block))
        while len(held) >= reach + step + reach:
            yield _inner(held[: reach + step + reach], up, down, taps, reach, step)
            held = held[step:]
    rest = len(held) - reach
    yield _inner(np.concatenate((held, np.zeros(reach))), up, down, taps, reach, rest)


def _inner(samples: Samples, up: int, down: int, taps: Samples, reach: int, length: int) -> Samples:
    """The `length` samples after the first `reach`, at the new rate."""
    first = reach * up // down
    return np.asarray(resample_poly(samples, up, down, window=taps))[first : first + ceil(length * up / down)]


def to_words(samples: Samples) -> Words:
    """Microphone words of samples with full scale 1: 24 bits, left-justified; what is louder is cut off."""
    counts = np.clip(np.round(samples * (1 << 23)), -(1 << 23), (1 << 23) - 1)
    return (counts.astype(np.int64) << 8).astype(np.int32)


def write_words(path: Path, words: Words) -> None:
    """Write microphone words as a 24-bit mono WAV at RATE."""
    raw = words.astype("<i4").view(np.uint8).reshape(-1, 4)[:, 1:]
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(3)
        file.setframerate(RATE)
        file.writeframes(np.ascontiguousarray(raw).tobytes())
