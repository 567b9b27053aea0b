"""The keys of json_keys.py about two reeds at once: what sounded in a take, and pairs heard together."""

TWO = {
    "kind": "one, pair, octave or three: which reeds there are",
    "span_s": "how long they were heard for this",
    "reeds": "the reeds, the lowest first; none where they could not be told apart",
    "reeds[].hz": "pitch",
    "reeds[].u95_cents": "uncertainty of that, 95 %, without the clock's share",
    "reeds[].level_db": "level against the loudest of them, in the harmonics kept",
    "reeds[].note": "nearest equal-tempered note",
    "reeds[].cents": "how far it lies from that",
    "beats": "of each reed with the next; of an octave of the lower one's second harmonic with the upper one",
    "beats[].hz": "beats a second",
    "beats[].u95_hz": "uncertainty of that, 95 %",
    "wanted_s": "how long they would have to sound to be told apart; null where they were, or nobody can say",
    "remark": "why they could not be told apart, in words; empty where they were",
}

_SOUNDED = {
    "ordinal": "its number in the layout",
    "alone_cents": "what it reads with the other muted, from its target; null where nobody knows",
    "together_cents": "what it reads when both sound; null likewise",
    "pulled_cents": "the difference; null likewise",
    "u95_cents": "uncertainty of the difference, 95 %; null likewise",
}

PAIRS = {
    "interval": "pair or octave",
    "base": "the reed that the other is tuned against, the lower one of an octave",
    **{f"base.{key}": meaning for key, meaning in _SOUNDED.items()},
    "partner": "the other",
    **{f"partner.{key}": meaning for key, meaning in _SOUNDED.items()},
    "heard_hz": "beats a second of both together, above zero where the partner is high; null where not heard",
    "u95_hz": "uncertainty of that, 95 %; null likewise",
    "move": "number of the reed to be moved first; null where none is, or nobody knows",
    "partner_to_hz": "what the partner should then read alone; null where nobody knows",
}
