"""An instrument of a kind that the meter knows by itself, in a key, tuned equal to the meter's own reference A.

Pairs are tuned as their layout says: the second reed of each above the first by some beats at the reference, and
2^rise times as many an octave higher.
"""

from .kinds import KEYS, KINDS
from .shelf import Instrument


def made(kind, key, settings):
    """The shelf.Instrument of KINDS[kind] in KEYS[key]; it has no identity in any ledger."""
    layout, title, reeds = KINDS[kind]
    name, semitones = KEYS[key]
    voices, *places = reeds.split(" ")
    voices = [voice.split("/") for voice in voices.split(",")]
    places = [place.split(",") for place in places]
    facts = {
        "key": "",
        "name": "%s, %s" % (name, title[:30]),
        "layout": layout,
        "state": "assembled",
        "reeds": sum([1 for _, *numbers in places for number in numbers if number]),
        "reference_mhz": settings.reference_mhz,
        "tolerance_cc": settings.tolerance_cc,
        "pass_number": 0,
    }
    instrument = Instrument(facts)
    for name, *numbers in places:
        for (breath, slide, member, *law), number in zip(voices, numbers):
            if not number:
                continue
            above = 2 ** ((int(number) + semitones - 69) / 12)
            hz = settings.reference_mhz / 1000 * above
            if law:
                beats, rise = law
                hz += float(beats) * above ** float(rise)
            values = {"ordinal": len(instrument), "target_uhz": int(hz * 1e6), "place": name}
            values.update(breath=breath, slide=slide, plate="", member=member)
            instrument.put(values, 0)
    return instrument
