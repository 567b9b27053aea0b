"""Refusals that travel over the link: a short code for programs, a sentence for people."""

# code: what it means. The host's exit code for all of them is 4 (meter or link fault).
CODES = {
    "unknown": "the meter does not know this request",
    "bad": "the request is malformed or a value is out of range",
    "order": "this request needs another one before it",
    "full": "the meter's memory is full",
    "large": "this does not fit in the meter",
    "store": "the meter's memory could not be read or written",
    "busy": "the meter is in the middle of a take",
}


class WireError(Exception):
    """Something that came over the wire, or out of a record, is not what it should be.

    `code` is one of CODES, `text` a sentence a person can read.
    """

    def __init__(self, code, text):
        super().__init__(text)
        self.code = code
        self.text = text
