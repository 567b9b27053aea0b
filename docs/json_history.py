"""The keys of json_keys.py that belong to the past of an instrument and of the shop."""

SPAN = {
    "seconds": "the middle",
    "low_s": "a quarter of what was seen is less",
    "high_s": "a quarter of what was seen is more",
    "seen": "how often it was seen",
}

PASS = {
    "reeds": "how many reeds",
    "moved_cents": "how far they moved the way they were worked, their middle; null where there are none",
    "past_stop_cents": "how much higher they read than where they were to stop; null where there are none",
    "good": "how many of them were good then",
}

SETTLED = {
    "action": "what the pass had done to them: raise or lower",
    "when": "within a day, within two weeks, or later",
    "cents": "what they moved by themselves meanwhile, drawn towards 0 for few; above zero they went higher",
    "u95_cents": "uncertainty of that, 95 %",
    "reeds": "how many reeds were seen",
}
