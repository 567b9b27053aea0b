"""The tuning order: what the owner of an instrument wants of its notes.

    {"reference_hz": 442.0, "temperament": "just", "tonic": "D", "drop_cents": 1.5, "tolerance_cents": 2.0,
     "stretch_cents_per_octave": 1.0, "offsets": {"F#4": -2}, "pairs": {"law": "constant cents", "cents": 15}}

Only reference and tolerance have to be there.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from reedbench.documents import Fields
from reedbench.tuning import offsets
from reedbench.tuning.notes import A4, note_hz, pitch_class, raised
from reedbench.tuning.offsets import Offsets
from reedbench.tuning.pairs import PairLaw
from reedbench.tuning.temperaments import TEMPERAMENTS
from reedbench.words import signed

REFERENCE_HZ = (392.0, 470.0)  # from low French pitch to the highest historical ones met on reed instruments
TOLERANCE_CENTS = (0.2, 20.0)
DROP_CENTS = (0.0, 10.0)
STRETCH_CENTS = (-10.0, 10.0)


@dataclass(frozen=True)
class TuningOrder:
    """What the owner wants."""

    reference_hz: float = 440.0
    temperament: str = "equal"
    drop_cents: float = 0.0  # how much lower the reeds sound in play than on the bench
    tolerance_cents: float = 2.0
    tonic: str = ""  # the note that the temperament starts from; empty for the instrument's key
    stretch_cents_per_octave: float = 0.0  # about A4
    offsets: Offsets = ()
    pairs: PairLaw | None = None  # None for the layout's own

    @classmethod
    def read(cls, fields: Fields, folder: Path) -> "TuningOrder":
        """The order in an object of a file; files it names lie in `folder`. BadInput for anything else."""
        tonic = fields.take("tonic", "")
        if not isinstance(tonic, str) or (tonic and pitch_class(tonic) is None):
            fields.refuse("tonic", 'a note without its octave, such as "C", "F#" or "Bb"')
        order = cls(
            reference_hz=fields.number("reference_hz", *REFERENCE_HZ),
            temperament=fields.choice("temperament", TEMPERAMENTS, "equal"),
            drop_cents=fields.number("drop_cents", *DROP_CENTS, default=0.0),
            tolerance_cents=fields.number("tolerance_cents", *TOLERANCE_CENTS),
            tonic=tonic,
            stretch_cents_per_octave=fields.number("stretch_cents_per_octave", *STRETCH_CENTS, default=0.0),
            offsets=offsets.read_offsets(fields, "offsets", folder),
            pairs=PairLaw.read(fields.inner("pairs")) if fields.take("pairs") is not None else None,
        )
        fields.done()
        return order

    def to_dict(self) -> dict[str, Any]:
        """As it stands in a file; what is not ordered is left out."""
        always = {
            "reference_hz": self.reference_hz,
            "temperament": self.temperament,
            "drop_cents": self.drop_cents,
            "tolerance_cents": self.tolerance_cents,
        }
        more = {
            "tonic": self.tonic,
            "stretch_cents_per_octave": self.stretch_cents_per_octave,
            "offsets": dict(self.offsets),
            "pairs": self.pairs.to_dict() if self.pairs else None,
        }
        return always | {name: value for name, value in more.items() if value}

    def words(self, key: str) -> Iterator[str]:
        """What is ordered, for people, but for the pairs; `key` is where the temperament starts if none is named."""
        yield f"A = {self.reference_hz:g} Hz, within {self.tolerance_cents:g} cents"
        yield self.temperament + ("" if self.temperament == "equal" else f" over {self.tonic or key.split()[-1]}")
        if self.drop_cents:
            yield f"drop in play {self.drop_cents:g} cents"
        if self.stretch_cents_per_octave:
            yield f"octaves stretched by {signed(self.stretch_cents_per_octave)} cents"
        if self.offsets:
            yield "offsets " + ", ".join(f"{at} {signed(cents)}" for at, cents in self.offsets)

    def note_offset_cents(self, midi: int, tonic: int) -> float | None:
        """How far the note `midi` is wanted from its equal-tempered pitch; None where the temperament is silent.

        `tonic` is a pitch class, 0 to 11 from C, and counts where the order names none.
        """
        named = pitch_class(self.tonic) if self.tonic else None
        tempered = TEMPERAMENTS[self.temperament].offset_cents(midi, tonic if named is None else named)
        if tempered is None:
            return None
        stretch = self.stretch_cents_per_octave * (midi - A4) / 12
        return tempered + stretch + offsets.fitting(self.offsets, midi)

    def target_hz(
        self, midi: int, tonic: int = 0, label: str = "", side: int = 0, pairs: PairLaw | None = None
    ) -> float:
        """What a reed must read on the bench: its pitch in play, raised by the drop.

        `label` is the reed's name, `side` 1 or -1 where it is tuned above or below the base reed of its pair, by the
        order's law or else by `pairs`. The temperament must know the note.
        """
        cents = self.note_offset_cents(midi, tonic)
        assert cents is not None
        hz = raised(note_hz(midi, self.reference_hz), cents)
        law = self.pairs or pairs
        if side and law:
            hz = law.partner_hz(hz, side, self.reference_hz)
        return raised(hz, offsets.own(self.offsets, label) + self.drop_cents)
