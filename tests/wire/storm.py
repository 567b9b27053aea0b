"""Random and mutated lines through frames and messages, for CPython and MicroPython alike.

Each number of a storm is one line, made from that number alone, so that what fails can be looked at by itself:
`look(number)`. What is believed is checked against what was meant, or against the table of messages.
"""

from dice import Dice
from wire import frames, messages
from wire.errors import WireError
from wire.fields import Blob, Number

NAMES = sorted(messages.MESSAGES)
SIGNS = b"%* =~-+0123456789abcdefABCDEF_xyz.,:/\t\x03\x04\x00\x7f\x80\xff"


def sound(dice):
    """(number, body) of a well-formed request or answer."""
    message = messages.MESSAGES[dice.pick(NAMES)]
    number = dice.below(0x10000)
    side = dice.below(8)
    if side == 0:
        return number, messages.refusal(WireError(dice.pick(["bad", "full"]), some_text(dice, 100)))
    if side < 4:
        return number, messages.answer(message.name, {field.name: some_value(dice, field) for field in message.answer})
    return number, messages.ask(message.name, {field.name: some_value(dice, field) for field in message.ask})


def some_value(dice, field):
    """A value that the field may hold, its bounds more often than chance would have them."""
    if isinstance(field, Number):
        return dice.pick(
            [field.low, field.high, dice.between(field.low, field.high), dice.between(field.low, field.high)]
        )
    longest = dice.pick([0, field.longest, dice.below(field.longest + 1)])
    if isinstance(field, Blob):
        return bytes(dice.below(256) for _ in range(min(longest, 40)))
    return some_text(dice, longest)


def some_text(dice, longest):
    """Text of at most `longest` bytes, of letters and of what is none."""
    return "".join(dice.pick(["a", "7", " ", "~", "%", "\n", "\x1b", "\u00e4"]) for _ in range(longest // 2))


def mutated(dice, line):
    """`line` after one to three of the accidents that may befall it."""
    line = bytearray(line)
    for _ in range(dice.between(1, 3)):
        kind = dice.below(6)
        at = dice.below(len(line) + 1)
        if kind == 0 and at < len(line):
            line[at] ^= 1 << dice.below(8)
        elif kind == 1 and at < len(line):
            line[at] = dice.pick(SIGNS)
        elif kind == 2:
            line[at:at] = bytes((dice.pick(SIGNS),))
        elif kind == 3:
            line[at : at + dice.between(1, 4)] = b""
        elif kind == 4:
            line = line[:at]
        else:
            other = dice.below(len(line) + 1)
            line = line[: min(at, other)] + line[max(at, other) :] + line[min(at, other) : max(at, other)]
    return bytes(line)


def sealed(body):
    """A line with a right checksum around any bytes."""
    head = b"%0001 " + body
    return head + b" *%08x" % frames.crc32(head)


def thrown(number, seed):
    """(line, what was meant or None) of one number of the storm."""
    dice = Dice(seed * 1000003 + number)
    kind = dice.below(10)
    if kind == 0:
        return bytes(dice.below(256) for _ in range(dice.below(60))), None
    if kind == 1:
        return bytes(dice.pick(SIGNS) for _ in range(dice.below(60))), None
    meant = sound(dice)
    line = frames.pack(*meant)[:-1]
    if kind == 2:
        return line, meant
    if kind < 6:
        return mutated(dice, line), meant
    return sealed(mutated(dice, line[6:-10])), None  # spoilt before it was sealed: only messages can tell


def fault(line, meant):
    """What is wrong with how `line` is taken, in words; "" if nothing, or "refused" where it is refused."""
    try:
        number, body = frames.unpack(line)
    except WireError:
        return "refused"
    if meant is not None and (number, body) != meant:
        return "a spoilt line was believed"
    words = body.split(" ")
    refused = 0
    try:
        name, values = messages.read_ask(body)
        if name != words[0]:
            return "a request is taken for another"
        told = beyond(messages.MESSAGES[name].ask, values, words[1:])
        if told:
            return told
    except WireError:
        refused += 1
    for name in NAMES:
        try:
            told = beyond(messages.MESSAGES[name].answer, messages.read_answer(name, body), words[1:])
            if told or words[0] != "ok":
                return told or "an answer without ok"
        except WireError:
            refused += 1
    return "refused" if refused > len(NAMES) else ""


def beyond(fields, values, words):
    """What is wrong with values that were believed; the words are looked at in another way than fields.py does."""
    if len(words) != len(fields) or len(values) != len(fields):
        return "wrong number of fields"
    for field, word in zip(fields, words):  # noqa: B905 - MicroPython's zip knows no strict
        name, _, said = word.partition("=")
        value = values.get(name)
        if name != field.name:
            return "a field under another name"
        if isinstance(field, Number):
            if not isinstance(value, int) or not field.low <= value <= field.high or value != int(said):
                return "a number that is none, or out of bounds"
        elif len(value if isinstance(field, Blob) else value.encode()) > field.longest:
            return "more bytes than there may be"
        elif field.read(field.write(value)) != value:
            return "a value that does not come back"
    return ""


def look(number, seed=1):
    """[line, what was meant, how it is taken] for one number."""
    line, meant = thrown(number, seed)
    return [list(line), meant, fault(line, meant)]


def storm(start, end, seed=1):
    """[[number, fault] of what went wrong, the first few; lines refused; lines taken; lines read from the stream].

    The same lines also go through one LineReader, in pieces cut anywhere.
    """
    found = []
    refused = taken = read = 0
    reader = frames.LineReader()
    dice = Dice(seed)
    kept = b""
    for number in range(start, end):
        line, meant = thrown(number, seed)
        told = fault(line, meant)
        if told == "refused":
            refused += 1
        elif told:
            found.append([number, told])
        else:
            taken += 1
        kept += line + b"\n"
        while len(kept) > 300:
            size = dice.between(1, 300)
            for heard in reader.feed(kept[:size]):
                read += 1
                if len(heard) > frames.LINE_MAX or b"\n" in heard or heard[:1] != frames.START:
                    found.append([number, "the reader gives what is no line"])
            kept = kept[size:]
        if len(found) >= 5:
            break
    return [found, refused, taken, read]
