"""Names of notes: English or German, with sharps or flats, octaves numbered so that A4 is the reference."""

_ENGLISH = "C C# D D# E F F# G G# A A# B", "C Db D Eb E F Gb G Ab A Bb B"
_GERMAN = "C Cis D Dis E F Fis G Gis A Ais H", "C Des D Es E F Ges G As A B H"


def note(number, settings):
    """The note of this MIDI number as `settings` (meter.settings.Settings) want it called."""
    names = (_GERMAN if settings.german_notes else _ENGLISH)[settings.flats]
    return names.split()[number % 12] + str(number // 12 - 1)
