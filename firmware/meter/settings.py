"""What is set on the meter itself and outlasts the power: for now the language of its screen."""

LANGUAGES = ("en", "de")
_FILE = "language"


class Settings:
    """`store`: a meter.store.Store. `language`: one of LANGUAGES."""

    def __init__(self, store):
        self._store = store
        kept = store.read(_FILE)
        self.language = kept.decode() if kept in (b"en", b"de") else LANGUAGES[0]

    def next_language(self):
        """Takes the next language, and keeps it; raises WireError where that cannot be written."""
        self.language = LANGUAGES[(LANGUAGES.index(self.language) + 1) % len(LANGUAGES)]
        with self._store.writing() as pen:
            pen.replace(_FILE, self.language.encode())
