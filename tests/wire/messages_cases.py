"""Cases about messages, for CPython and MicroPython alike; bytes pass as lists of numbers."""

from wire import frames, messages
from wire.errors import CODES, WireError
from wire.fields import Blob, Number

WORST = "\x00"  # a byte of text that takes three signs on a line


def values_of(fields, choice):
    """Values for `fields` at one end of what each may hold: "least" or "most"."""
    values = {}
    for field in fields:
        if isinstance(field, Number):
            values[field.name] = field.low if choice == "least" else field.high
        elif isinstance(field, Blob):
            values[field.name] = b"" if choice == "least" else b"\xff" * field.longest
        else:
            values[field.name] = "" if choice == "least" else WORST * field.longest
    return values


def both(message, choice):
    """[(body, what its reader makes of it, what was put in)] of a request and its answer."""
    asked = values_of(message.ask, choice)
    answered = values_of(message.answer, choice)
    body = messages.ask(message.name, asked)
    reply = messages.answer(message.name, answered)
    return [
        (body, messages.read_ask(body), (message.name, asked)),
        (reply, messages.read_answer(message.name, reply), answered),
    ]


def names():
    return list(messages.MESSAGES)


def not_coming_back():
    """Messages that do not come back as they were, at either end of their fields' bounds, through a line."""
    wrong = []
    for name in messages.MESSAGES:
        message = messages.MESSAGES[name]
        for choice in ("least", "most"):
            for body, read, put in both(message, choice):
                if read != put or frames.unpack(frames.pack(5, body)) != (5, body):
                    wrong.append([name, choice, body])
    return wrong


def read_asked(body):
    """[name, values] or the code it is refused with."""
    try:
        return list(messages.read_ask(body))
    except WireError as error:
        return error.code


def read_answered(name, body):
    """Values of an answer, [code, text] of one that refuses."""
    try:
        return messages.read_answer(name, body)
    except WireError as error:
        return [error.code, error.text]


def changed(words, at, count, new):
    """`words` with `new` in the place of `count` of them."""
    copy = list(words)
    copy[at : at + count] = new
    return copy


def damaged(words):
    """Every list of words that can come of one mistake in `words`."""
    for at, word in enumerate(words):
        name, _, value = word.partition("=")
        yield changed(words, at, 1, [])  # one is missing
        yield changed(words, at, 1, [word, word])  # doubled
        yield changed(words, at, 0, [""])  # two spaces
        yield changed(words, at, 0, ["more=1"])  # one too many
        yield changed(words, at, 1, [name])  # no value
        yield changed(words, at, 1, ["x" + word])  # another name
        yield changed(words, at, 1, [name + " =" + value])
        for other in range(at):  # two in each other's place
            yield changed(changed(words, at, 1, [words[other]]), other, 1, [word])
    yield changed(words, len(words), 0, [""])
    yield changed(words, len(words), 0, ["more=1"])


def accepted_though_damaged():
    """Bodies with one field too many, too few, or out of its place that are not refused as "bad"."""
    passed = []
    for name in messages.MESSAGES:
        message = messages.MESSAGES[name]
        for choice in ("least", "most"):
            (asked, _, _), (answered, _, _) = both(message, choice)
            for words in damaged(asked.split(" ")[1:]):
                body = name + " " + " ".join(words)
                if read_asked(body) != "bad":
                    passed.append(body)
            for words in damaged(answered.split(" ")[1:]):
                body = "ok " + " ".join(words)
                told = read_answered(name, body)
                if not isinstance(told, list) or told[0] != "bad":
                    passed.append(body)
    return passed


def written_though_incomplete():
    """Messages that can be made of values with one missing, one too many, or one under another name."""
    made = []
    for name in messages.MESSAGES:
        message = messages.MESSAGES[name]
        for fields, write in ((message.ask, messages.ask), (message.answer, messages.answer)):
            whole = values_of(fields, "least")
            wrong = [dict(whole, more=1)]
            for field in whole:
                short = dict(whole)
                short[field + "x"] = short.pop(field)
                wrong += [short, {other: whole[other] for other in whole if other != field}]
            for values in wrong:
                made.append(body_or_none(write, name, values))
    return [body for body in made if body is not None]


def body_or_none(write, name, values):
    """What `write` makes of the values, None where it refuses them."""
    try:
        return write(name, values)
    except WireError:
        return None


def refusal(code, text):
    """[code, text] that the other side of the link understands, and the length of the body."""
    body = messages.refusal(WireError(code, text))
    told = read_answered("status", frames.unpack(frames.pack(1, body))[1])
    told.append(len(body))
    return told


def refusals_lost():
    """Codes that do not arrive with their words."""
    return [code for code, words in CODES.items() if refusal(code, words)[:2] != [code, words]]
