"""Cases about fields, for CPython and MicroPython alike. `field`: [kind, name, bounds...]; bytes pass as lists."""

from wire import fields
from wire.errors import WireError


def field_of(described):
    return getattr(fields, described[0])(*described[1:])


def written(field, value):
    """The word for a value, or the code it is refused with."""
    try:
        return field_of(field).write(bytes(value) if field[0] == "Blob" else value)
    except WireError as error:
        return [error.code]


def read(field, word):
    """The value of a word, or the code it is refused with."""
    try:
        value = field_of(field).read(word)
    except WireError as error:
        return {"refused": error.code}
    return list(value) if field[0] == "Blob" else value


def texts_changed(texts, longest):
    """The texts that do not come back as they were written, or whose words hold more than plain signs."""
    text = fields.Text("text", longest)
    plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ0123456789-_.,:/~"
    return [one for one in texts if text.read(text.write(one)) != one or not all(s in plain for s in text.write(one))]


def characters_changed(start, end, step):
    """Code points, surrogates excepted, that do not come back."""
    text = fields.Text("text", 4)
    points = [point for point in range(start, end, step) if not 0xD800 <= point <= 0xDFFF]
    return [point for point in points if text.read(text.write(chr(point))) != chr(point)]


def blobs_changed(longest):
    """Lengths at which bytes do not come back."""
    blob = fields.Blob("blob", longest)
    wrong = []
    for length in range(longest + 1):
        value = bytes(at * 7 + length & 255 for at in range(length))
        if blob.read(blob.write(value)) != value:
            wrong.append(length)
    return wrong
