"""WAV files in and out: any usual recording to the meter's microphone words, and soundings to files.

Reading and resampling are scipy's. The meter's microphone delivers 24 bits, left-justified in 32.
"""

import warnings
import wave
from math import gcd
from os import PathLike, fspath
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.io import wavfile
from scipy.signal import firwin, resample_poly

from reedbench.errors import BadInput
from reedbench.output import clean

RATE = 16000
RATES = (8000, 192000)
LONGEST_S = 1800.0
LONGEST_BYTES = 1 << 30
Words = NDArray[np.int32]


def read_words(path: str | PathLike[str]) -> Words:
    """The recording at `path` as microphone words at RATE; several channels are averaged.

    WAV with 8, 16, 24 or 32-bit integers or floats, 8 to 192 kHz. BadInput, one line, for anything else.
    """
    where = clean(fspath(path))
    try:
        if Path(path).stat().st_size > LONGEST_BYTES:
            raise BadInput(f"{where}: larger than {LONGEST_BYTES >> 20} MiB: cut out the part to be heard")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", wavfile.WavFileWarning)  # chunks beside the sound are no matter
            rate, data = wavfile.read(path)
    except OSError as error:
        raise BadInput(f"{where}: cannot be read: {error.strerror or error}") from error
    except BadInput:
        raise
    except Exception as error:  # scipy's reader meets nonsense with many kinds of exception
        raise BadInput(f"{where}: not a WAV file that can be read ({clean(str(error))[:80] or 'damaged'})") from error
    if not RATES[0] <= rate <= RATES[1]:
        raise BadInput(f"{where}: {rate} samples per second; {RATES[0]} to {RATES[1]} can be read")
    if len(data) == 0:
        raise BadInput(f"{where}: there is no sound in it")
    if len(data) > LONGEST_S * rate:
        raise BadInput(f"{where}: longer than {LONGEST_S / 60:g} minutes: cut out the part to be heard")
    return to_words(resampled(_scaled(data, where), rate))


def _scaled(data: NDArray[np.generic], where: str) -> NDArray[np.float64]:
    """One channel, full scale 1."""
    kind = data.dtype
    samples = data.astype(np.float64)
    if kind == np.uint8:
        samples = (samples - 128) / 128
    elif np.issubdtype(kind, np.integer):
        samples /= float(1 << (8 * kind.itemsize - 1))  # scipy hands out 24 bits left-justified in 32
    if not np.all(np.isfinite(samples)):
        raise BadInput(f"{where}: holds samples that are not numbers")
    return samples.mean(axis=1) if samples.ndim > 1 else samples


def resampled(samples: NDArray[np.float64], rate: int) -> NDArray[np.float64]:
    """`samples` at RATE, through a linear-phase filter that is flat to 7.2 kHz and 80 dB down at the fold."""
    if rate == RATE:
        return samples
    common = gcd(rate, RATE)
    up, down = RATE // common, rate // common
    wider = max(up, down)
    taps = firwin(2 * 48 * wider + 1, 0.95 / wider, window=("kaiser", 8.0))
    return np.asarray(resample_poly(samples, up, down, window=taps))


def to_words(samples: NDArray[np.float64]) -> Words:
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
