"""Typed fields of messages: whole numbers with bounds, text, and bytes. One table entry, both directions.

On a line a field is `name=value`. Text is UTF-8 with everything but letters, digits and a few signs written
as %XX; bytes are base64. There are no floats: a number carries its unit in its name (`target_uhz`).
"""

import binascii

from .errors import WireError

_PLAIN = b"abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.,:/"


class Number:
    """A whole number from `low` to `high`. `write(value)` gives its word on a line, `read(word)` the value again."""

    def __init__(self, name, low, high):
        self.name = name
        self.low = low
        self.high = high

    @property
    def kind(self):
        return "whole number %d to %d" % (self.low, self.high)

    def write(self, value):
        if not isinstance(value, int) or not self.low <= value <= self.high:
            raise WireError("bad", "%s is not a %s" % (self.name, self.kind))
        return "%d" % value

    def read(self, word):
        digits = word[1:] if word[:1] == "-" else word
        # As bytes, since Python takes other scripts' digits in a text for digits too.
        if not 0 < len(digits) <= 12 or not digits.encode().isdigit():
            raise WireError("bad", "%s is not a number" % self.name)
        value = int(word)
        if not self.low <= value <= self.high:
            raise WireError("bad", "%s is not a %s" % (self.name, self.kind))
        return value


class Text:
    """Text of at most `longest` bytes in UTF-8; `write` and `read` as those of Number."""

    def __init__(self, name, longest):
        self.name = name
        self.longest = longest

    @property
    def kind(self):
        return "text, at most %d bytes" % self.longest

    def write(self, value):
        try:
            raw = value.encode()
        except UnicodeError:
            raise WireError("bad", "%s is not well-formed text" % self.name)
        if len(raw) > self.longest:
            raise WireError("bad", "%s is longer than %d bytes" % (self.name, self.longest))
        parts = []
        for byte in raw:
            parts.append(chr(byte) if byte in _PLAIN else "%%%02x" % byte)
        return "".join(parts).replace("%", "~")

    def read(self, word):
        plain, *coded = word.split("~")
        raw = plain.encode()
        try:
            for part in coded:
                if len(part) < 2:
                    raise ValueError()
                raw += binascii.unhexlify(part[:2]) + part[2:].encode()
            value = raw.decode()
        except (ValueError, UnicodeError):
            raise WireError("bad", "%s is not well-formed text" % self.name)
        if len(raw) > self.longest:
            raise WireError("bad", "%s is longer than %d bytes" % (self.name, self.longest))
        return value


class Blob:
    """At most `longest` bytes; `write` and `read` as those of Number."""

    def __init__(self, name, longest):
        self.name = name
        self.longest = longest

    @property
    def kind(self):
        return "bytes in base64, at most %d" % self.longest

    def write(self, value):
        if len(value) > self.longest:
            raise WireError("bad", "%s is longer than %d bytes" % (self.name, self.longest))
        return binascii.b2a_base64(value).decode().strip()

    def read(self, word):
        try:
            value = binascii.a2b_base64(word)
        except ValueError:
            raise WireError("bad", "%s is not base64" % self.name)
        if binascii.b2a_base64(value).decode().strip() != word:
            raise WireError("bad", "%s is not base64" % self.name)
        if len(value) > self.longest:
            raise WireError("bad", "%s is longer than %d bytes" % (self.name, self.longest))
        return value
