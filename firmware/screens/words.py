"""The words of one language, kept as one text: sixty texts in a dictionary would take a board three times the room."""


class Words:
    """`text`: a line for each, "\\nname=words", with bars between the parts of what is said in several.

    `words[name]` is a text, or a tuple of them where there are bars; KeyError where there is no such line.
    """

    def __init__(self, text):
        self.text = text

    def __getitem__(self, name):
        said = self.get(name)
        if said is None:
            raise KeyError(name)
        return said

    def get(self, name, otherwise=None):
        """The same, or `otherwise` where there is no such line."""
        start = self.text.find("\n" + name + "=")
        if start < 0:
            return otherwise
        start += len(name) + 2
        said = self.text[start : self.text.find("\n", start)]
        return tuple(said.split("|")) if "|" in said else said
