"""What outlasts the power beside takes and the instrument: the screen's language, and what the crystal does."""

LANGUAGES = ("en", "de")
UNMEASURED_U_PPB = 30000  # an ordinary crystal, standard uncertainty
_LANGUAGE = "language"
_CRYSTAL = "crystal"


class Settings:
    """`store`: a meter.store.Store. `language`: one of LANGUAGES.

    `crystal_ppb`, `crystal_u_ppb`: how much faster than it should the crystal runs and the standard uncertainty of
    that, parts per billion; `crystal_measured`: whether a host has ever found them out.
    """

    def __init__(self, store):
        self._store = store
        kept = store.read(_LANGUAGE)
        self.language = kept.decode() if kept in (b"en", b"de") else LANGUAGES[0]
        try:
            self.crystal_ppb, self.crystal_u_ppb = [int(word) for word in store.read(_CRYSTAL).split()]
            self.crystal_measured = True
        except ValueError:
            self.crystal_ppb, self.crystal_u_ppb = 0, UNMEASURED_U_PPB
            self.crystal_measured = False

    def next_language(self):
        """Takes the next language, and keeps it; raises WireError where that cannot be written."""
        self.language = LANGUAGES[(LANGUAGES.index(self.language) + 1) % len(LANGUAGES)]
        with self._store.writing() as pen:
            pen.replace(_LANGUAGE, self.language.encode())

    def keep_crystal(self, ppb, u_ppb):
        """From now on the crystal is taken to run so much too fast; raises WireError where that cannot be written."""
        if self.crystal_measured and (ppb, u_ppb) == (self.crystal_ppb, self.crystal_u_ppb):
            return
        with self._store.writing() as pen:
            pen.replace(_CRYSTAL, b"%d %d" % (ppb, u_ppb))
        self.crystal_ppb, self.crystal_u_ppb = ppb, u_ppb
        self.crystal_measured = True
