"""An instrument of a kind that the meter knows by itself, in a key, tuned equal to the meter's own reference A."""

from .kinds import KEYS, KINDS
from .shelf import Instrument


def made(kind, key, settings):
    """The shelf.Instrument of KINDS[kind] in KEYS[key]; it has no identity in any ledger."""
    layout, title, reeds = KINDS[kind]
    name, semitones = KEYS[key]
    voices, *places = reeds.split(" ")
    voices = [voice.split("/") for voice in voices.split(",")]
    facts = {
        "key": "",
        "name": "%s, %s" % (name, title[:30]),
        "layout": layout,
        "state": "assembled",
        "reeds": len(places) * len(voices),
        "reference_mhz": settings.reference_mhz,
        "tolerance_cc": settings.tolerance_cc,
        "pass_number": 0,
    }
    instrument = Instrument(facts)
    for place in places:
        name, *numbers = place.split(",")
        for (breath, slide, member), number in zip(voices, numbers):
            hz = settings.reference_mhz / 1000 * 2 ** ((int(number) + semitones - 69) / 12)
            values = {"ordinal": len(instrument), "target_uhz": int(hz * 1e6), "place": name}
            values.update(breath=breath, slide=slide, plate="", member=member)
            instrument.put(values, 0)
    return instrument
