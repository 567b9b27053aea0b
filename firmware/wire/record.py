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
    "disagree",  # phase figure and zero-crossing figure differ
    "clipped",  # the microphone was overdriven
    "gap",  # samples were lost: no figure
    "weak",  # too near the room's noise
    "two-reeds",  # more than one reed sounded
    "wavering",  # level rose and fell widely
)
NO_FIGURE = ("unsteady", "pulled", "short", "gap")

# name, struct code, what it is
TAKE = (
    ("survey", "I", "sequence number of the survey's own record"),
    ("layout", "I", "CRC-32 of the layout's identity"),
    ("ordinal", "H", "the reed's number in the layout"),
    ("number", "B", "which take of this reed in this survey, from 1"),
    ("state", "B", "index into STATES: how the reed was sounded"),
    ("unix_s", "I", "time of day; 0 when the meter was never told"),
    ("start", "I", "first sample of the tone the figure comes from, counted since power-up, modulo 2^32"),
    ("span", "I", "samples of that tone"),
    ("uhz", "I", "pitch in microhertz, clock correction applied; 0 when there is no figure"),
    ("clock_ppb", "i", "that clock correction, parts per billion"),
    ("clock_u_ppb", "H", "standard uncertainty of the clock, parts per billion, 65535 and more"),
    ("se_mcent", "H", "random standard error in thousandths of a cent, 65535 and more"),
    ("check_ccent", "h", "zero-crossing figure minus phase figure, hundredths of a cent"),
    ("drift_ccent_s", "h", "drift in hundredths of a cent per second"),
    ("level_cdb", "h", "level in hundredths of a decibel from full scale"),
    ("flags", "H", "bits of FLAGS"),
    ("board_dc", "h", "board temperature in tenths of a degree Celsius; -32768 unknown"),
    ("harmonics", "B", "harmonics the figure was followed on"),
    ("strongest", "B", "strongest harmonic"),
    ("rate", "H", "samples per second"),
    ("trace_ccent", "32h", "32 points over the span: pitch against the figure, hundredths of a cent"),
    ("trace_level_qdb", "32b", "the same points: level against the take's level, quarters of a decibel"),
)

SURVEY = (
    ("instrument", "16s", "identity of the instrument in the ledger"),
    ("name", "40s", "what the shop calls it"),
    ("layout", "32s", "identity of the layout"),
    ("reeds", "H", "reeds in the survey"),
    ("state", "B", "index into STATES"),
    ("pass_number", "B", "which pass of the work it follows; 0 before any"),
    ("reference_mhz", "I", "reference A in millihertz"),
    ("tolerance_cc", "H", "tolerance in hundredths of a cent"),
    ("unix_s", "I", "time of day; 0 when the meter was never told"),
)

REDO = (
    ("survey", "I", "sequence number of the survey's own record"),
    ("ordinal", "H", "reed whose takes so far are withdrawn"),
)

END = (
    ("survey", "I", "sequence number of the survey's own record"),
    ("unix_s", "I", "time of day; 0 when the meter was never told"),
)

KINDS = {1: ("survey", SURVEY), 2: ("take", TAKE), 3: ("redo", REDO), 4: ("end", END)}
NUMBERS = {entry[0]: number for number, entry in KINDS.items()}

STATES = (
    "assembled",
    "covers off",
    "plate on bench",
    "plucked",
)


def _format(fields):
    return "<" + "".join(code for _, code, _ in fields)


def _count(code):
    return int(code[:-1]) if len(code) > 1 and code[-1] != "s" else 0


def pack(kind, sequence, values):
    """Bytes of one record. `values`: dict of the kind's fields; text as str, traces as lists of TRACE_POINTS."""
    flat = []
    fields = KINDS[NUMBERS[kind]][1]
    for name, code, _ in fields:
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
    for name, code, _ in fields:
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
