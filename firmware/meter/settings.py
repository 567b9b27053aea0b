"""What is set on the meter itself and outlasts the power, and what its crystal does.

On flash: a line for each setting, "name=number"; the crystal apart, because a host writes it.
"""

LANGUAGES = ("en", "de")
UNMEASURED_U_PPB = 30000  # an ordinary crystal, standard uncertainty
_FILE = "settings"
_CRYSTAL = "crystal"

# Whole numbers: name, lowest, highest, step, and what it is until somebody sets it.
SETTINGS = (
    ("language", 0, len(LANGUAGES) - 1, 1, 0),
    ("german_notes", 0, 1, 1, 0),  # H for B, Cis for C#
    ("flats", 0, 1, 1, 0),
    ("reference_mhz", 400000, 480000, 100, 440000),
    ("tolerance_cc", 50, 1000, 50, 300),  # both where no instrument says its own
    ("brightness", 1, 5, 1, 4),
    ("dim_min", 0, 7, 1, 2),  # minutes of nothing heard and no key until the display is dimmed; 0 never
    ("off_min", 0, 60, 5, 15),  # until it is put out; a key or a sounding lights it again
    ("sleep_min", 0, 120, 10, 30),  # ... and no word from a host, until it sleeps; a key or a host wakes it
    ("turned", 0, 1, 1, 0),  # upside down, for the other hand
)


class Settings:
    """`store`: a meter.store.Store. Each of SETTINGS is an attribute.

    `crystal_ppb`, `crystal_u_ppb`: how much faster than it should the crystal runs and the standard uncertainty of
    that, parts per billion; `crystal_measured`: whether a host has ever found them out.
    """

    def __init__(self, store):
        self._store = store
        kept = {}
        for line in store.read(_FILE).split(b"\n"):
            name, _, value = line.partition(b"=")
            kept[name] = value
        for name, low, high, _, first in SETTINGS:
            value = kept.get(name.encode(), b"")
            sound = value.isdigit() and len(value) < 9 and low <= int(value) <= high
            setattr(self, name, int(value) if sound else first)
        try:
            self.crystal_ppb, self.crystal_u_ppb = [int(word) for word in store.read(_CRYSTAL).split()]
            self.crystal_measured = True
        except ValueError:
            self.crystal_ppb, self.crystal_u_ppb = 0, UNMEASURED_U_PPB
            self.crystal_measured = False

    def keep(self):
        """Writes them down; raises WireError where that cannot be."""
        lines = ["%s=%d\n" % (one[0], getattr(self, one[0])) for one in SETTINGS]
        with self._store.writing() as pen:
            pen.replace(_FILE, "".join(lines).encode())

    def keep_crystal(self, ppb, u_ppb):
        """From now on the crystal is taken to run so much too fast; raises WireError where that cannot be written."""
        if self.crystal_measured and (ppb, u_ppb) == (self.crystal_ppb, self.crystal_u_ppb):
            return
        with self._store.writing() as pen:
            pen.replace(_CRYSTAL, b"%d %d" % (ppb, u_ppb))
        self.crystal_ppb, self.crystal_u_ppb = ppb, u_ppb
        self.crystal_measured = True
