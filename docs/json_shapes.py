"""Objects that several commands print with `--json`: their keys, and what each holds."""

SURVEY = {
    "survey": "its number in this ledger",
    "meter": "serial number of the meter",
    "epoch": "identity of the meter's journal",
    "sequence": "number of the survey's own record in that journal",
    "instrument": "key of the instrument",
    "name": "what the shop calls the instrument",
    "layout": "identity of the layout",
    "state": "how the reeds were sounded, in words: the state that counts here",
    "states": "all states of it, the one that was sounded in last standing last",
    "pass": "pass of the work that the survey follows; 0 before any",
    "reference_hz": "reference A",
    "tolerance_cents": "tolerance",
    "unix_s": "when it began; null where nobody knows",
    "unix_within_s": "give or take so many seconds; null likewise",
    "reeds": "reeds of the instrument",
    "takes": "takes in the ledger",
    "ended": "whether the meter walked through all reeds; true where it was imported",
    "file": "name of the file that it was imported from; null for one of a meter",
    "readings": "readings that were imported; 0 for one of a meter",
}

CLOCK = {
    "error_ppm": "how much faster than it should the crystal runs, parts per million; null where nobody knows",
    "u_ppm": "standard uncertainty of that; null likewise",
    "baseline_s": "longest time over which it was seen; null likewise",
    "told": "whether the meter corrects its takes by it",
    "why": "if not, why, in a sentence",
}

INSTRUMENT = {
    "reedbench": "says that this is an instrument",
    "version": "version of the instrument file's schema",
    "key_id": "its key: its identity in ledger and meter",
    "name": "what the shop calls it",
    "layout": "identity of the layout; for one of your own the layout itself, as in its file",
    "key": "musical key; only where there are instruments of its kind in other keys",
    "slide": "cross or straight; only where there is a slide",
    "first_plate": "plate that hole 1 sounds with the slide out; only where there is a slide",
    "last_hole": "note of the last reed; only where the layout leaves a choice",
    "order": "the tuning order, with more of the fields of its file where they are given",
    "order.reference_hz": "reference A",
    "order.temperament": "temperament",
    "order.drop_cents": "how much lower the reeds sound in play than on the bench",
    "order.tolerance_cents": "tolerance",
}

EARLIER_TAKES = {
    "earlier_takes_used": "takes of earlier surveys that it stands on: of one that this goes on with, or found it good",
    "earlier_takes_used[].survey": "number of the survey",
    "earlier_takes_used[].take": "number of the take",
}

SETTLED = {
    "action": "what the pass had done to them: raise or lower",
    "when": "within a day, within two weeks, or later",
    "cents": "what they moved by themselves meanwhile, drawn towards 0 for few; above zero they went higher",
    "u95_cents": "uncertainty of that, 95 %",
    "reeds": "how many reeds were seen",
}

REED = {
    "ordinal": "its number in the layout",
    "place": "hole, key or button as people call it",
    "breath": "blow, draw, push, pull, or empty where air flows one way only",
    "slide": "out, in, or empty",
    "member": "bank, or member of a pair; empty where there is one",
    "plate": "upper, lower, or what the trade has for one",
    "face": "side of the plate: inner, outer, or empty where there is one",
    "note": "its note in the instrument's key",
    "target_hz": "what it must read on the bench",
}

VERDICT = {
    "reading_cents": "what its takes say together, from the target; null where none could be trusted",
    "u95_cents": "uncertainty of that reading, 95 %; null without one",
    "verdict": "good, off, unsure, or look",
    "action": "leave, raise, lower, sound again, inspect, or replace",
    "move_cents": "what the pitch must do; null where nothing may be moved yet",
    "why": "the reason, in a sentence",
}


def within(place: str, keys: dict[str, str]) -> dict[str, str]:
    """The keys of an object that stands at `place` of another."""
    return {f"{place}.{key}": meaning for key, meaning in keys.items()}


SHOWN = {
    "instrument": "the instrument, as in its file",
    **within("instrument", INSTRUMENT),
    "reeds": "its reeds, in the order in which they are sounded",
    **within("reeds[]", REED),
    "reeds[].midi": "the same note as a MIDI note number",
    "reeds[].from_equal_cents": "its target from the equal-tempered note at the reference",
    "reeds[].mts": "its target as a word of the MIDI Tuning Standard, three bytes in hexadecimal",
    "reeds[].base": "number of the base reed of its pair; null where it is tuned against none",
    "reeds[].beat_hz": "beats a second that the two are to make; null where it is tuned against none",
}
