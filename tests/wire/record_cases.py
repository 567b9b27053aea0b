"""Cases about records, for CPython and MicroPython alike; bytes pass as lists of numbers."""

from dice import Dice
from wire import record
from wire.errors import WireError

SIZES = {"b": 8, "B": 8, "h": 16, "H": 16, "i": 32, "I": 32}


def bounds(code):
    """(least, most) of a whole number of that struct code."""
    bits = SIZES[code]
    return (-(1 << bits - 1), (1 << bits - 1) - 1) if code in "bhi" else (0, (1 << bits) - 1)


def values_of(kind, choice):
    """Values of every field at one end, "least" or "most", or between, by the dice "choice"."""
    return values_in(record.KINDS[record.NUMBERS[kind]][1], choice)


def values_in(fields, choice):
    values = {}
    for name, code in fields:
        count = int(code[:-1] or "1")
        if code[-1] == "s":
            values[name] = {"least": "", "most": "x" * count}.get(choice, "\u00e4" * (count // 2))
            continue
        low, high = bounds(code[-1])
        if choice == "least":
            some = [low] * count
        elif choice == "most":
            some = [high] * count
        else:
            dice = Dice(choice)
            some = [low + dice.below(high - low + 1) for _ in range(count)]
        values[name] = some if count > 1 else some[0]
    return values


def not_coming_back():
    """Kinds, ends and places at which a record does not come back as it was."""
    wrong = []
    for kind in record.NUMBERS:
        for choice in ("least", "most", 1, 2, 3):
            values = values_of(kind, choice)
            for sequence in (0, 1, 0xFFFFFFFF):
                packed = record.pack(kind, sequence, values)
                for lead in (0, 1, 7):
                    data = b"\xa7" * lead + packed + b"\xa7\x02"
                    same = record.unpack(data, lead) == (kind, sequence, values)
                    if (
                        not same
                        or record.measure(data, lead) != len(packed)
                        or record.sequence_of(data, lead) != sequence
                    ):
                        wrong.append([kind, choice, sequence, lead])
    return wrong


def one_field_apart():
    """Fields whose value, changed alone, changes anything else or does not arrive."""
    wrong = []
    for kind, number in record.NUMBERS.items():
        for name, _ in record.KINDS[number][1]:
            values = values_of(kind, "least")
            values[name] = values_of(kind, "most")[name]
            if record.unpack(record.pack(kind, 5, values))[2] != values:
                wrong.append([kind, name])
    return wrong


def packed(kind, sequence, choice):
    return list(record.pack(kind, sequence, values_of(kind, choice)))


def refused(data):
    """Whether `data` is taken for no record, by measure and by unpack alike."""
    try:
        record.unpack(data)
    except WireError:
        return record.measure(data) == 0
    return False


def flips_accepted(kind, choice):
    """Bits of a record that can flip unnoticed, numbered from its start."""
    data = bytearray(record.pack(kind, 77, values_of(kind, choice)))
    passed = []
    for bit in range(8 * len(data)):
        data[bit // 8] ^= 1 << bit % 8
        if not refused(data):
            passed.append(bit)
        data[bit // 8] ^= 1 << bit % 8
    return passed


def cuts_accepted(kind, choice):
    """Lengths to which a record can be cut unnoticed, at its end and at its start."""
    data = record.pack(kind, 77, values_of(kind, choice))
    return [size for size in range(len(data)) if not refused(data[:size]) or not refused(data[len(data) - size :])]


def unpacked(data):
    """[kind, sequence, values] of a record, or the code it is refused with."""
    try:
        return list(record.unpack(bytes(data)))
    except WireError as error:
        return error.code


def measured(data, at):
    return record.measure(bytes(data), at)


def found_in_noise(seed, size):
    """Places in random bytes at which a record is seen."""
    dice = Dice(seed)
    noise = bytes(0xA7 if dice.below(4) == 0 else dice.below(256) for _ in range(size))
    return [at for at in range(size) if record.measure(noise, at)]


def clipped(text):
    """What is left of `text` at every length, as lists of bytes."""
    return [list(record.clip(text, longest)) for longest in range(len(text.encode()) + 2)]


def state_bytes():
    """Every state in words, and what comes back of its number."""
    winds = [", " + wind if number else "" for number, wind in enumerate(record.WINDS)]
    states = [state + wind for state in record.STATES[: record.PLUCKED] for wind in winds] + ["plucked"]
    return [[words, record.state_words(record.state_byte(words))] for words in states]


def state_refused(words):
    try:
        record.state_byte(words)
    except WireError as error:
        return [error.code, error.text]
    return None


def state_words(byte):
    return record.state_words(byte)


def flags_and_back():
    """Sets of flags that do not come back from their bits, and bits that no name stands for."""
    wrong = []
    for bits in range(1 << len(record.FLAGS)):
        if record.flag_bits(record.flag_names(bits)) != bits:
            wrong.append(bits)
    return [wrong, record.flag_names(0xFFFF) == list(record.FLAGS)]


def trusted(flags, uhz):
    return record.trusted(record.flag_bits(flags), uhz)
