"""An instrument with hidden errors, and a player with a player's faults. All of it comes from one seed.

Nothing here is seen by the meter or by the host's planning: they get the sound, and the instrument without its
errors. The file that `save` writes is what `reedbench desk --mic` plays from.
"""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from reedbench import layouts
from reedbench.documents import Fields, read_json
from reedbench.errors import BadInput
from reedbench.instrument import Instrument, TuningOrder

VERSION = 1
SCATTER_CENTS = 0.35  # from breath to breath, RMS
FAULTS = ("unsettled", "pulled", "stray", "wrong", "cough")
HIDDEN_MOST = 1200.0


@dataclass(frozen=True)
class Scenario:
    """`hidden_cents[n]`: error of the reed of ordinal n. `faults`: what goes wrong, at which reed (ordinal)."""

    seed: int
    instrument: Instrument
    hidden_cents: tuple[float, ...]
    faults: dict[str, int]

    def save(self, path: Path) -> None:
        """Write the scenario as a file for `reedbench desk --mic`."""
        document = {
            "reedbench": "desk-instrument",
            "version": VERSION,
            "seed": self.seed,
            "instrument": self.instrument.to_dict(),
            "hidden_cents": list(self.hidden_cents),
            "faults": self.faults,
        }
        path.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")

    @classmethod
    def read(cls, path: Path, seed: int | None = None) -> "Scenario":
        """The scenario in a file, or one that `seed` invents for the instrument in it; BadInput for anything else."""
        values = read_json(path)
        if isinstance(values, dict) and values.get("reedbench") == "instrument":
            return invented(Instrument.from_dict(values, str(path), path.parent), 1 if seed is None else seed)
        if seed is not None:
            raise BadInput(f"{path}: its errors stand in it: leave --seed out, or name an instrument's own file")
        fields = Fields(values, str(path))
        fields.kind("desk-instrument", VERSION)
        seed = int(fields.number("seed", 0, 2**32 - 1))
        instrument = Instrument.from_dict(fields.take("instrument"), f"{path}: instrument")
        count = len(instrument.reeds)
        hidden = fields.take("hidden_cents")
        if not isinstance(hidden, list) or len(hidden) != count or not all(_is_error(cents) for cents in hidden):
            fields.refuse("hidden_cents", f"a list of {count} numbers of cents, one for each reed")
        faults = fields.take("faults", {})
        if not isinstance(faults, dict) or not all(
            name in FAULTS and isinstance(reed, int) and 0 <= reed < count for name, reed in faults.items()
        ):
            fields.refuse("faults", f"an object with some of {', '.join(FAULTS)} and the number of a reed for each")
        fields.done()
        return cls(seed, instrument, tuple(float(cents) for cents in hidden), dict(faults))


def _is_error(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and abs(value) <= HIDDEN_MOST


def demo_scenario(seed: int) -> Scenario:
    """The demo's: a sixteen-hole slide chromatic that came back from a season on a river boat."""
    rng = np.random.default_rng(seed)
    instrument = Instrument(
        key_id=f"{int(rng.integers(1 << 62)):016x}",
        name="The river boat's sixteen-hole",
        layout=layouts.load("solo-16"),
        slide="cross",
        first_plate="lower",
        last_hole="D",
        order=TuningOrder(reference_hz=441.5, tolerance_cents=3.0),
    )
    return _used(instrument, seed, rng)


def invented(instrument: Instrument, seed: int) -> Scenario:
    """Somebody's own instrument, as worn as the demo's."""
    return _used(instrument, seed, np.random.default_rng(seed))


def _used(instrument: Instrument, seed: int, rng: np.random.Generator) -> Scenario:
    """Most reeds are a few cents flat, some were filed too far, one or two have lost a good deal."""
    count = len(instrument.reeds)
    hidden = rng.normal(-0.8, 2.6, count)
    worn = rng.choice(count, size=max(1, count // 5), replace=False)
    hidden[worn] += rng.normal(-7.0, 5.0, len(worn))
    sharp = rng.choice(count, size=max(1, count // 10), replace=False)
    hidden[sharp] += rng.uniform(4.0, 14.0, len(sharp))
    inner = np.arange(2, count - 2)  # not the first ones, by which a player says how they sound
    reeds = rng.choice(inner, size=min(len(FAULTS), len(inner)), replace=False)
    faults = {name: int(reed) for name, reed in zip(FAULTS, reeds, strict=False)}
    return Scenario(seed, instrument, tuple(round(float(cents), 3) for cents in hidden), faults)
