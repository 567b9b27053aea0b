"""Pitch: notes and cents, temperaments, tuning orders, pairs, and the MIDI Tuning Standard's words."""

from reedbench.tuning.notes import A4, cents_between, nearest_note, note_hz, note_midi, note_name, pitch_class, raised
from reedbench.tuning.order import DROP_CENTS, REFERENCE_HZ, STRETCH_CENTS, TOLERANCE_CENTS, TuningOrder
from reedbench.tuning.pairs import PairLaw, beat_hz
from reedbench.tuning.temperaments import TEMPERAMENTS, Temperament

__all__ = [
    "A4",
    "DROP_CENTS",
    "REFERENCE_HZ",
    "STRETCH_CENTS",
    "TEMPERAMENTS",
    "TOLERANCE_CENTS",
    "PairLaw",
    "Temperament",
    "TuningOrder",
    "beat_hz",
    "cents_between",
    "nearest_note",
    "note_hz",
    "note_midi",
    "note_name",
    "pitch_class",
    "raised",
]
