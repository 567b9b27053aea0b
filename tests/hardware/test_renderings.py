"""The shaded pictures of the case are of the files that are printed, and the rasteriser puts things where they are."""

from importlib import import_module
from typing import Any

import numpy as np
import pytest
from PIL import Image
from plan import HARDWARE

rasteriser: Any = import_module("rasteriser")
renderings: Any = import_module("renderings")
RED, GREEN = (1.0, 0.0, 0.0), (0.0, 1.0, 0.0)
ABOVE = rasteriser.View((0.0, 0.0, 100.0), (0.0, 0.0, 0.0), (0.0, 1.0, 0.0), 0.0, 20.0)  # a millimetre is five points
SIZE = (100, 100)


@pytest.mark.parametrize(("name", "drawn"), [("case", "standing"), ("case-apart", "apart")])
def test_a_picture_is_up_to_date(name: str, drawn: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Drawn again more coarsely: edges may differ, surfaces may not."""
    monkeypatch.setattr(renderings, "FINER", 1)
    path = HARDWARE / "pictures" / f"{name}.png"
    there, now = (np.asarray(image.convert("RGB"), float) for image in (Image.open(path), getattr(renderings, drawn)()))
    assert there.shape == now.shape
    off = np.abs(there - now).max(axis=2)
    assert (off > 24).mean() < 0.03, f"run `make hardware`: {100 * (off > 24).mean():.1f} % of it is another"
    assert path.stat().st_size < 150_000


def test_the_nearer_one_is_seen_and_each_in_its_place() -> None:
    low = rasteriser.Surface(renderings.box(0, 0, 0, 10, 10, 1), RED, glows=True)
    high = rasteriser.Surface(renderings.box(-3, 2, 5, 2, 2, 1), GREEN, glows=True)
    image = rasteriser.picture([low, high], ABOVE, (0, 0, 1), SIZE)
    assert tuple(image[40, 35]) == GREEN and tuple(image[50, 50]) == RED and tuple(image[10, 10]) == (1, 1, 1)
    assert (image == RED).all(axis=2).sum() == 50 * 50 - 10 * 10 and (image == GREEN).all(axis=2).sum() == 10 * 10


def test_what_stands_before_the_lamp_throws_a_shadow() -> None:
    floor = rasteriser.Surface(renderings.box(0, 0, -1, 20, 20, 1), (0.8, 0.8, 0.8))
    wall = rasteriser.Surface(renderings.box(0, 0, 0, 1, 8, 5), (0.8, 0.8, 0.8))
    dark, bright = (
        rasteriser.picture([floor, wall], ABOVE, (-1, 0, 1), SIZE, shadows)[50] for shadows in (True, False)
    )
    shadow = np.flatnonzero(bright[:, 0] - dark[:, 0] > 0.2)
    # 5 mm high under a lamp at 45 degrees: from the wall's foot at 0.5 mm to 5.5 mm.
    assert shadow.min() == pytest.approx(53, abs=3) and shadow.max() == pytest.approx(77, abs=3)


def test_every_printed_part_comes_back_to_its_place() -> None:
    bounds = {name: np.array([renderings.printed(name).min((0, 1)), renderings.printed(name).max((0, 1))])
              for name in ("shell", "lid", "clip", "stand")}  # fmt: skip
    seats = renderings.seats
    assert bounds["shell"][:, 2] == pytest.approx([seats.LID, seats.DEPTH])
    assert bounds["lid"][0, 2] == pytest.approx(0, abs=1e-5)
    assert bounds["clip"][1, 2] == pytest.approx(0, abs=1e-5) and bounds["clip"][:, 0].mean() == pytest.approx(
        seats.CLIP_X
    )
    assert bounds["stand"][0, 2] == pytest.approx(0, abs=1e-5) and bounds["stand"][:, 0].mean() == pytest.approx(
        0, abs=1e-5
    )
