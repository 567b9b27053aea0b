"""Small drawings in SVG: readings with their uncertainty against a tolerance, and how a take went.

All are in black and grey and speak by place and length, never by a colour. The y of a drawing runs downwards.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

NICE = (1, 2, 3, 5, 10, 20, 30, 50, 100, 200, 500, 1000)


def scale_for(values: Sequence[float] | Floats, least: float = 1) -> float:
    """The smallest round number, `least` or more, that holds nearly all of `values` either way of nought."""
    sizes = np.sort(np.abs(np.asarray(values, dtype=float)))
    wanted = float(sizes[int(0.98 * (len(sizes) - 1))]) if len(sizes) else 0.0
    return next((float(one) for one in NICE if one >= max(wanted, least)), float(NICE[-1]))


@dataclass(frozen=True)
class Axis:
    """Cents against height: `scale` cents above and below the middle of a drawing of `height` units."""

    scale: float
    height: int

    def y(self, cents: float) -> float:
        """Where a figure lies; one beyond the scale lies at its edge."""
        held = max(-self.scale, min(self.scale, cents))
        return round(self.height / 2 * (1 - held / self.scale), 1)

    def band(self, tolerance: float) -> tuple[float, float]:
        """(top, height) of the band within a tolerance."""
        return self.y(tolerance), round(self.y(-tolerance) - self.y(tolerance), 1)


def mark(axis: Axis, x: int, cents: float, u95_cents: float, half: int = 5) -> str:
    """SVG path of a reading: a stroke across where it lies, a stroke along what covers 95 %."""
    y, top, bottom = axis.y(cents), axis.y(cents + u95_cents), axis.y(cents - u95_cents)
    return f"M{x - half} {y:g}h{2 * half}M{x} {top:g}V{bottom:g}"


def lines(axis: Axis, step: int, values: Floats) -> list[str]:
    """An SVG path through each row of `values`, every point `step` units to the right of the one before."""
    middle = axis.height / 2
    ys = np.clip(np.rint(middle - values * (middle / axis.scale)), 0, axis.height).astype(int)
    gap = f" {step} "
    rows = zip(ys[:, 0].tolist(), np.diff(ys).tolist(), strict=True)
    return [f"M0 {first}l{step} {gap.join(map(str, rest))}" for first, rest in rows]
