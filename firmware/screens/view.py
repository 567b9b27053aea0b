"""What is to be shown, as plain data: the words, the plot of takes and the reeds' marks, but no pixels."""


class View:
    """One screen's contents.

    page        "start", "message", "ask" (for the state of sounding), "call" (a reed is called) or "figure" (a reed's
                take is shown)
    lines       tuple of (role, text); the page knows where and in which face a role stands
    tolerance   hundredths of a cent, for the plot
    takes       tuple of (cents, spread) in hundredths of a cent, or None for a take without a figure
    tongues     tuple of bytes, one per plate: 0 missing, 1 done, 2 doubtful, for each reed as it is sounded
    now         (plate, reed) of the reed that is wanted, or None
    sounding    whether a tone is being heard
    """

    def __init__(self, page, lines, tolerance=0, takes=(), tongues=(), now=None, sounding=False):
        self.page = page
        self.lines = tuple(line for line in lines if line[1])
        self.tolerance = tolerance
        self.takes = takes
        self.tongues = tongues
        self.now = now
        self.sounding = sounding

    def words(self):
        """List of the words on the screen, from top to bottom, as a person reads them."""
        return [text for _, text in self.lines]

    def __eq__(self, other):
        return self is other or (isinstance(other, View) and self.__dict__ == other.__dict__)
