"""The few ways in which a command can fail, and the exit code of each.

Raised anywhere, caught in one place (`__main__`), shown as one line. Code that raises one of these has already
put into words what was wrong and what to do about it.
"""


class ReedbenchError(Exception):
    """Base of all failures that a user can meet. The text is one line for people; `kind` one word for programs."""

    exit_code = 1

    def __init__(self, text: str, kind: str = "") -> None:
        super().__init__(text)
        self.kind = kind


class Failed(ReedbenchError):
    """The work could not be done, though the request made sense (a disk is full, a ledger is not writable)."""

    exit_code = 1


class BadInput(ReedbenchError):
    """A file or an option is not what it should be."""

    exit_code = 2


class NoMeter(ReedbenchError):
    """No meter was found, or the port named is not a meter."""

    exit_code = 3


class LinkFault(ReedbenchError):
    """A meter was found but it broke off, answered nonsense or refused."""

    exit_code = 4
