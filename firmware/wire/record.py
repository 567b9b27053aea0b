"""Records of the journal: how one lies on flash, travels over the link and enters the ledger.

    mark u8 | kind u8 | length u16 | sequence u32 | payload | CRC-32 u32       (little endian)

The CRC covers everything before it. A record never changes; what it means is fixed by its kind, and a
changed layout gets a new kind. All numbers are whole: the unit and scale stand in the field's name.
"""

import struct

from .errors import WireError
from .frames import crc32

MARK = 0xA7
HEAD = "<BBHI"
HEAD_SIZE = 8
TAIL_SIZE = 4
PAYLOAD_MAX = 512

TRACE_POINTS = 32
NO_TEMPERATURE = -32768
U16_MAX = 65535

# Why a take is not, or not wholly, to be trusted: bit numbers of the field `flags`.
FLAGS = (
    "unsteady",  # the pitch moved too much: no figure
    "pulled",  # breath bent the pitch away and (perhaps) back: no figure
    "short",  # not enough steady tone: no figure
    "disagree",  # phase figure and zero-crossing figure differ: no figure, unless two reeds explain it
    "clipped",  # the microphone was overdriven
    "gap",  # samples were lost: no figure
    "weak",  # too near the room's noise
    "two-reeds",  # more than one reed sounded
    "wavering",  # level rose and fell widely
)
NO_FIGURE = ("unsteady", "pulled", "short", "gap", "disagree")  # the last, unless two reeds sounded

# Name and struct code of each field; explained.py says what they are, in words.
_TAKE = (
    ("survey", "I"),
    ("layout", "I"),
    ("ordinal", "H"),
    ("number", "B"),
    ("state", "B"),
    ("unix_s", "I"),
    ("start", "I"),
    ("span", "I"),
    ("uhz", "I"),
    ("clock_ppb", "i"),
    ("clock_u_ppb", "H"),
    ("se_mcent", "H"),
    ("check_ccent", "h"),
    ("drift_ccent_s", "h"),
    ("level_cdb", "h"),
    ("flags", "H"),
    ("board_dc", "h"),
    ("harmonics", "B"),
    ("strongest", "B"),
    ("rate", "H"),
    ("trace_ccent", "32h"),
    ("trace_level_qdb", "32b"),
)

TAKE = _TAKE + (
    ("boot", "I"),
    ("up_s", "I"),
    ("role", "B"),
    ("scatter_mcent", "H"),
)

SURVEY = (
    ("instrument", "16s"),
    ("name", "40s"),
    ("layout", "32s"),
    ("reeds", "H"),
    ("state", "B"),
    ("pass_number", "B"),
    ("reference_mhz", "I"),
    ("tolerance_cc", "H"),
    ("unix_s", "I"),
)

REDO = (
    ("survey", "I"),
    ("ordinal", "H"),
)

END = (
    ("survey", "I"),
    ("unix_s", "I"),
)

SITTING = SURVEY[:4] + (("doing", "B"),) + SURVEY[5:]
SITTINGS = ("bench", "check")

STROKES = (
    ("sitting", "I"),
    ("ordinal", "H"),
    ("strokes", "H"),
    ("unix_s", "I"),
)

CHECKED = (
    ("sitting", "I"),
    ("heard", "H"),
    ("off", "H"),
    ("moved", "H"),
    ("worst", "H"),
    ("worst_ccent", "h"),
    ("unix_s", "I"),
)

# One harmonic of a take in which two reeds sounded: 418 bytes in all, up to three of them ahead of the take itself.
BASEBAND_POINTS = 96
BASEBAND_TURN = 2048  # of the field `turn`
BASEBAND = (
    ("survey", "I"),
    ("take", "I"),
    ("ordinal", "H"),
    ("harmonic", "B"),
    ("count", "B"),
    ("length", "H"),
    ("turn", "H"),
    ("rate", "H"),
    ("clock_ppb", "i"),
    ("points", "192h"),
)

# Kind 2 is what takes were before they told from which run of the meter they are: read, and no longer written.
KINDS = {
    1: ("survey", SURVEY),
    2: ("take", _TAKE),
    3: ("redo", REDO),
    4: ("end", END),
    5: ("take", TAKE),
    6: ("baseband", BASEBAND),
    8: ("sitting", SITTING),
    9: ("strokes", STROKES),
    10: ("checked", CHECKED),
}
NUMBERS = {KINDS[number][0]: number for number in sorted(KINDS)}  # of two of a name the later one is written

# How the reed sat when it was sounded: low three bits of the field `state`; what moved the air: the high four. BOTH is
# set where its partners were not muted.
STATES = (
    "assembled",
    "covers off",
    "plate on bench",
    "plucked",
)
WINDS = ("mouth", "bellows", "suction")  # the first goes without saying
BOTH = 8
BOTH_WORDS = "both reeds"
PLUCKED = 3  # the last of them; without any wind: the high bits say nothing


def _format(fields):
    return "<" + "".join(code for _, code in fields)


def _count(code):
    return int(code[:-1]) if len(code) > 1 and code[-1] != "s" else 0


def pack(kind, sequence, values):
    """Bytes of one record. `values`: dict of the kind's fields; text as str, traces as lists of TRACE_POINTS."""
    flat = []
    fields = KINDS[NUMBERS[kind]][1]
    for name, code in fields:
        value = values[name]
        if _count(code):
            flat.extend(value)
        elif code[-1] == "s":
            flat.append(clip(value, int(code[:-1])))
        else:
            flat.append(value)
    payload = struct.pack(_format(fields), *flat)
    head = struct.pack(HEAD, MARK, NUMBERS[kind], len(payload), sequence)
    return head + payload + struct.pack("<I", crc32(head + payload))


def clip(text, longest):
    """UTF-8 of `text` in at most `longest` bytes, never ending inside a character."""
    raw = text.encode()[:longest]
    while raw:
        try:
            raw.decode()
            return raw
        except (ValueError, UnicodeError):
            raw = raw[:-1]
    return raw


def measure(data, at=0):
    """Length of the record that begins at `data[at]`, or 0 where no whole, sound record begins there."""
    if len(data) - at < HEAD_SIZE + TAIL_SIZE or data[at] != MARK:
        return 0
    length = struct.unpack_from(HEAD, data, at)[2]
    total = HEAD_SIZE + length + TAIL_SIZE
    if length > PAYLOAD_MAX or len(data) - at < total:
        return 0
    if struct.unpack_from("<I", data, at + total - TAIL_SIZE)[0] != crc32(bytes(data[at : at + total - TAIL_SIZE])):
        return 0
    return total


def sequence_of(data, at=0):
    """Sequence number of the record at `data[at]`, which `measure` has found sound."""
    return struct.unpack_from(HEAD, data, at)[3]


def unpack(data, at=0):
    """(kind, sequence, values) of the record at `data[at]`; raises WireError where it is not a sound one.

    A record of a kind this version does not know comes back as ("unknown", sequence, {}).
    """
    total = measure(data, at)
    if not total:
        raise WireError("bad", "not a whole record")
    _, number, length, sequence = struct.unpack_from(HEAD, data, at)
    if number not in KINDS:
        return "unknown", sequence, {}
    kind, fields = KINDS[number]
    if length != struct.calcsize(_format(fields)):
        raise WireError("bad", "a %s record of %d bytes has the wrong length" % (kind, length))
    flat = struct.unpack_from(_format(fields), data, at + HEAD_SIZE)
    values = {}
    place = 0
    for name, code in fields:
        count = _count(code)
        if count:
            values[name] = list(flat[place : place + count])
            place += count
            continue
        value = flat[place]
        if code[-1] == "s":
            try:
                value = bytes(value).rstrip(b"\0").decode()
            except (ValueError, UnicodeError):
                raise WireError("bad", "%s is not text" % name)
        values[name] = value
        place += 1
    return kind, sequence, values


def state_byte(words):
    """The field `state` for words such as "covers off" or "covers off, bellows, both reeds"; WireError for others."""
    state, _, rest = words.partition(", ")
    both = rest == BOTH_WORDS or rest.endswith(", " + BOTH_WORDS)
    wind = rest[: -len(BOTH_WORDS)].rstrip(", ") if both else rest
    if state not in STATES or (wind or WINDS[0]) not in WINDS or (rest and state == STATES[PLUCKED]):
        raise WireError("bad", "there is no state of sounding called %s" % words[:40])
    return STATES.index(state) + 16 * WINDS.index(wind or WINDS[0]) + (BOTH if both else 0)


def state_words(byte):
    """The words for a field `state`; one that only a newer version knows keeps its number."""
    state, wind = byte & 7, byte >> 4
    if state >= len(STATES) or wind >= len(WINDS) or (state == PLUCKED and byte & BOTH):
        return "state %d" % byte
    words = STATES[state] + (", " + WINDS[wind] if wind and state != PLUCKED else "")
    return words + (", " + BOTH_WORDS if byte & BOTH else "")


def flag_names(bits):
    """Names of the flags set in `bits`, in the table's order."""
    return [name for place, name in enumerate(FLAGS) if bits >> place & 1]


def flag_bits(names):
    """The `flags` field for a list of names."""
    bits = 0
    for name in names:
        bits |= 1 << FLAGS.index(name)
    return bits


def trusted(flags, uhz):
    """Whether a take may enter a reading: it has a figure and nothing speaks against it."""
    return uhz > 0 and flags & ~flag_bits(("wavering",)) == 0
