"""What a reed's shape does to its pitch: a cantilever beam of sections, each of one thickness and width.

A tongue is fixed at its root (rivet, x = 0) and free at its tip (x = 1). It is cut into elements; between its ends
each bends as a cubic, and stiffness and mass follow from that (the beam element of Euler and Bernoulli with Hermite's
cubics and consistent mass, as in any textbook of finite elements). The eigenvalues are the squares of the frequencies.

All is relative to a reed of one thickness and width before any work: lengths in reed lengths, masses in masses of that
reed, frequencies as b^2, where f = b^2 / (2 pi) sqrt(E I / (rho A)) / L^2. Real reeds are profiled, thicker here and
thinner there: signs and orders of magnitude hold for them, coefficients do not.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

CENTS_PER_LOG = 1200 / np.log(2)
ELEMENTS = 16  # equal ones, before a zone's edges are added; the pitch is then exact to 0.001 cents

# One element of length 1, EI = 1, mass 1; its freedoms are deflection and slope at either end.
_STIFFNESS: Floats = np.array([[12, 6, -12, 6], [6, 4, -6, 2], [-12, -6, 12, -6], [6, 2, -6, 4]], dtype=float)
_MASS: Floats = (
    np.array([[156, 22, 54, -13], [22, 4, 13, -3], [54, 13, 156, -22], [-13, -3, -22, 4]], dtype=float) / 420
)


def modes(edges: ArrayLike, thickness: ArrayLike = 1.0, width: ArrayLike = 1.0, tip_mass: float = 0.0) -> Floats:
    """b^2 of every mode, the lowest first, of a reed with the given sections.

    `edges`: n + 1 places from 0 to 1, rising. `thickness`, `width`: of the n sections, shape (n,), or (reeds, n) for
    several reeds at once; 1 is the reed before any work. `tip_mass`: at the very tip, in masses of that reed.
    Returns shape (2n,) or (reeds, 2n).
    """
    lengths, thick, wide = np.broadcast_arrays(np.diff(edges), thickness, width)
    stiffness = _assembled(_STIFFNESS, lengths, wide * thick**3 / lengths**3)
    mass = _assembled(_MASS, lengths, wide * thick * lengths)
    mass[..., -2, -2] += tip_mass
    # Largest eigenvalues of M against K, so that the lowest mode comes out with all its digits.
    under = np.linalg.inv(np.linalg.cholesky(stiffness))
    inverse_squares = np.linalg.eigvalsh(under @ mass @ np.swapaxes(under, -1, -2))[..., ::-1]
    return np.asarray(1 / np.sqrt(inverse_squares), dtype=np.float64)


def _assembled(element: Floats, lengths: Floats, factors: Floats) -> Floats:
    """The matrix of the whole beam, its root held, from that of one element and each element's factor."""
    one = np.ones_like(lengths)
    slopes = np.stack([one, lengths, one, lengths], axis=-1)  # slopes are per length
    blocks = factors[..., None, None] * element * slopes[..., :, None] * slopes[..., None, :]
    count = lengths.shape[-1]
    whole = np.zeros((*lengths.shape[:-1], 2 * count + 2, 2 * count + 2))
    for place in range(count):
        span = slice(2 * place, 2 * place + 4)
        whole[..., span, span] += blocks[..., place, :, :]
    return whole[..., 2:, 2:]


def thinned(start: float, end: float, fraction: ArrayLike) -> Floats:
    """Change of pitch in cents when `fraction` of the thickness comes off between `start` and `end`.

    `fraction`: a number, or several at once, each below 1; the answer has the same shape.
    """
    return _moved(start, end, fraction, thinner=True)


def narrowed(start: float, end: float, fraction: ArrayLike) -> Floats:
    """Change of pitch in cents when the sides give `fraction` of the width between `start` and `end`; as above."""
    return _moved(start, end, fraction, thinner=False)


def _moved(start: float, end: float, fraction: ArrayLike, thinner: bool) -> Floats:
    edges = np.array(sorted({*np.linspace(0, 1, ELEMENTS + 1), start, end}))
    middles = (edges[1:] + edges[:-1]) / 2
    left = 1 - np.asarray(fraction, float)[..., None] * ((start < middles) & (middles < end))
    worked = modes(edges, thickness=left) if thinner else modes(edges, width=left)
    return cents(worked[..., 0], modes(edges)[0])


def loaded(mass: float) -> float:
    """Change of pitch in cents when `mass`, in masses of the reed, is added at the very tip."""
    edges = np.linspace(0, 1, ELEMENTS + 1)
    return float(cents(modes(edges, tip_mass=mass)[0], modes(edges)[0]))


def cents(now: ArrayLike, before: ArrayLike) -> Floats:
    """Cents from one frequency, or b^2, to another."""
    return np.asarray(CENTS_PER_LOG * np.log(np.asarray(now) / np.asarray(before)))
