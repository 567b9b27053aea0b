"""General-purpose estimators on the same tones: what an engineer would reach for first.

Each takes samples (full scale = 1) and the pitch expected, and returns hertz or nan. Of trackers the median over
the frames is taken. Those that can use an expectation get it: 200 cents either way, as the meter's.
"""

import warnings
from collections.abc import Callable

import numpy as np
from scipy.optimize import minimize_scalar
from signals import RATE, Samples

LOW, HIGH = 60.0, 3700.0
REACH = 2 ** (200 / 1200)
Estimator = Callable[[Samples, float], float]


def _median(hz: Samples) -> float:
    heard = hz[np.isfinite(hz) & (hz > 0)]
    return float(np.median(heard)) if len(heard) else float("nan")


def _librosa(name: str, sound: Samples) -> float:
    import librosa

    frame = 2048 if len(sound) > 2048 else 1024
    found = getattr(librosa, name)(
        sound, fmin=LOW, fmax=HIGH, sr=RATE, frame_length=frame, hop_length=256, center=False
    )
    return _median(found[0] if isinstance(found, tuple) else found)


def yin(sound: Samples, expected: float) -> float:
    """librosa.yin."""
    return _librosa("yin", sound)


def pyin(sound: Samples, expected: float) -> float:
    """librosa.pyin."""
    return _librosa("pyin", sound)


def praat(sound: Samples, expected: float) -> float:
    """Praat's autocorrelation, very accurate, through parselmouth; within reach of the expectation."""
    import parselmouth

    found = parselmouth.Sound(sound, RATE).to_pitch_ac(
        pitch_floor=max(LOW, expected / REACH), pitch_ceiling=expected * REACH, very_accurate=True
    )
    return _median(found.selected_array["frequency"])


def fft(sound: Samples, expected: float) -> float:
    """Highest line of a four times padded, windowed spectrum within reach, a parabola through its logarithm."""
    size = 4 << int(np.ceil(np.log2(len(sound))))
    level = np.log(np.abs(np.fft.rfft((sound - np.mean(sound)) * np.hanning(len(sound)), size)) + 1e-12)
    low, high = int(expected / REACH * size / RATE), int(expected * REACH * size / RATE) + 2
    top = low + int(np.argmax(level[low:high]))
    a, b, c = level[top - 1 : top + 2]
    return float((top + 0.5 * (a - c) / (a - 2 * b + c)) * RATE / size)


def least_squares(sound: Samples, expected: float) -> float:
    """All harmonics below 7.2 kHz, at most as many as the meter follows; a grid within reach, then Brent's search."""
    sound = sound - np.mean(sound)
    most = 36 if expected < 250 else 18
    orders = np.arange(1, max(1, min(most, int(7200 / expected))) + 1)
    lobe = RATE / len(sound) / orders[-1] / expected * 1731  # cents
    grid = expected * 2 ** (np.arange(-200, 200, lobe / 3) / 1200)
    size = 8 << int(np.ceil(np.log2(len(sound))))
    power = np.abs(np.fft.rfft(sound, size)) ** 2
    lines = np.round(grid[:, None] * orders * size / RATE).astype(int)
    start = grid[np.argmax(np.sum(power[np.minimum(lines, len(power) - 1)], axis=1))]
    t = np.arange(len(sound)) - (len(sound) - 1) / 2

    def unexplained(cents: float) -> float:
        turn = np.exp(2j * np.pi * start * 2 ** (cents / 1200) / RATE * t)
        powers = np.cumprod(np.tile(turn, (len(orders), 1)), axis=0)
        basis = np.vstack((powers.real, powers.imag))
        product = basis @ sound
        return -float(product @ np.linalg.solve(basis @ basis.T, product))

    best = minimize_scalar(unexplained, bounds=(-lobe / 2, lobe / 2), method="bounded", options={"xatol": lobe * 1e-6})
    return float(start * 2 ** (best.x / 1200))


PEERS: dict[str, Estimator] = {
    "least-squares harmonic fit": least_squares,
    "FFT, interpolated": fft,
    "Praat autocorrelation": praat,
    "librosa yin": yin,
    "librosa pyin": pyin,
}


def begin() -> None:
    """Loads and compiles what the first call of each would, so that times are of the work."""
    warnings.filterwarnings("ignore")
    sound = np.cos(2 * np.pi * 440 / RATE * np.arange(RATE // 2))
    for estimate in PEERS.values():
        estimate(sound, 440.0)
