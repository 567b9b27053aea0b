"""How many pixels each string may take, in which face, with the longest values it is ever given.

(face, pixels, values): the test fills in the values and measures with the firmware's own typeface.
"""

LONGEST_REED = "24 {draw} {in}"  # holes have two digits; the words in braces are the language's own

CALL_NOTE = 98  # beside "480/480"
STATE = 28  # at the edge, beside a hole of two digits
BUDGETS = {
    "hole": ("BODY", 48, ("24",)),
    "key": ("BODY", 48, ("24",)),
    "blow": ("WORDS", 68, ()),
    "draw": ("WORDS", 68, ()),
    "push": ("WORDS", 68, ()),
    "pull": ("WORDS", 68, ()),
    "slide out": ("BODY", 68, ()),
    "slide in": ("BODY", 68, ()),
    "out": ("BODY", 24, ()),
    "in": ("BODY", 24, ()),
    "take": ("BODY", 34, (5,)),
    "count": ("SMALL", 34, (480, 480)),
    "spread": ("BODY", 36, ("99.9",)),
    "no figure": ("WORDS", 104, ()),
    "sound": ("BODY", 90, ()),
    "again": ("BODY", 90, ()),
    "hold": ("BODY", 84, ()),
    "let go": ("BODY", 90, ()),
    "saved": ("BODY", 90, ()),
    "next": ("BODY", 128, (LONGEST_REED,)),
    "last": ("SMALL", CALL_NOTE, (LONGEST_REED, "-38.2 ±1.1")),
    "last lost": ("SMALL", CALL_NOTE, (LONGEST_REED,)),
    "wrong": ("BODY", 128, (LONGEST_REED,)),
    "not kept": ("SMALL", CALL_NOTE, ()),
    "stray": ("SMALL", CALL_NOTE, ()),
    "afresh": ("BODY", 128, ()),
    "once more": ("BODY", 128, ()),
    "differ": ("BODY", 128, ("999.9",)),
    "give up": ("BODY", 128, ()),
    "back": ("SMALL", CALL_NOTE, ()),
    "control": ("SMALL", CALL_NOTE, ()),
    "left out": ("SMALL", CALL_NOTE, (LONGEST_REED,)),
    "hows": ("BODY", 98, ()),
    "winds": ("BODY", 98, ()),
    "short hows": ("SMALL", STATE, ()),
    "short winds": ("SMALL", STATE, ()),
    "ask": ("BODY", 122, ()),
    "key names": ("SMALL", 25, ()),
    "go": ("BODY", 98, ()),
    "start": ("SMALL", 124, ("10.10.10",)),
    "finished": ("BODY", 125, (480, 480)),
    "idle": ("BODY", 125, (99999,)),
    "full": ("BODY", 125, ()),
    "store": ("BODY", 125, ()),
    "unread": ("BODY", 125, ()),
    "microphone": ("BODY", 125, ()),
    "left": ("BODY", 125, ()),
    "keys": ("BODY", 125, ()),
}
REASON = ("BODY", 128, ())  # every name of wire.record.FLAGS
