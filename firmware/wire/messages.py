"""Every message of the link, in one table; explained.py says what each means, in words.

The host asks, the meter answers; the meter never speaks first. A request is `name field=value ...`, its
answer `ok field=value ...` or `no code=... text=...`, under the number of the request. A request that is
repeated under the same number gets the same answer and is not carried out twice.
"""

from .errors import WireError
from .fields import Blob, Number, Text
from .record import clip

PROTOCOL = 3
U32 = 0xFFFFFFFF
REEDS_MAX = 480
COUNTER_US = 1 << 30  # the running clock's microseconds begin again there
PULL_ROOM = 684  # bytes of journal in one answer: four takes; base64 of it fits a line


# A line for each: its name, since which protocol version there is one, the fields it asks with, those of its answer.
# As text, because a board has a quarter of the room for it as objects; u32 is U32.
_TABLE = (
    "\n"
    "hello 1: protocol 1..999, ledger text 32; protocol 1..999, firmware text 24, board text 24, serial text 32, "
    "epoch 0..u32, first_seq 0..u32, next_seq 0..u32, free 0..u32, torn 0..u32, home text 32\n"
    "clock 1: unix_s 1600000000..u32; was_unix_s 0..u32, meter_ms 0..u32\n"
    "ticks 2: ; boot 0..u32, up_s 0..u32, us 0..1073741823\n"
    "calibrate 2: ledger text 32, error_ppb -500000..500000, u_ppb 0..65535; taken 0..1\n"
    "instrument 1: key text 16, name text 40, layout text 32, state text 32, reeds 1..480, reference_mhz "
    "300000..600000, tolerance_cc 1..5000, pass_number 0..99;\n"
    "reed 1: ordinal 0..479, target_uhz 16000000..4290000000, place text 8, breath text 8, slide text 8, plate "
    "text 8, member text 8;\n"
    "work 3: ordinal 0..479, order 0..480, stop_ccent -30000..30000, last_ccent -30000..30000, last_u95_ccent "
    "0..30000;\n"
    "instrument-end 1: check 0..u32; stored 0..480\n"
    "pull 1: from_seq 0..u32, room 64..684; records bytes 684, next_seq 0..u32\n"
    "acknowledge 1: ledger text 32, before_seq 0..u32; freed 0..u32\n"
    "home 3: ledger text 32;\n"
    "status 1: ; doing text 16, done 0..480, of 0..480, heap_free 0..u32\n"
    "leave 1: ;\n"
)
REFUSAL = (Text("code", 16), Text("text", 160))


class Message:
    """One request: since which protocol version there is one, the fields it asks with, those of its answer."""

    def __init__(self, name, since, ask, answer):
        self.name = name
        self.since = since
        self.ask = ask
        self.answer = answer


class Messages:
    """The table: `messages[name]` is a Message, made when it is asked for; the last one is kept."""

    def __init__(self):
        self._last = None

    def __iter__(self):
        """Names of all messages, in the table's order."""
        return iter([line.split(" ")[0] for line in _TABLE.split("\n") if line])

    def __contains__(self, name):
        return "\n%s " % name in _TABLE

    def __getitem__(self, name):
        if self._last is None or self._last.name != name:
            start = _TABLE.index("\n%s " % name) + len(name) + 2
            since, _, rest = _TABLE[start : _TABLE.index("\n", start)].partition(": ")
            ask, _, answer = rest.partition(";")
            self._last = Message(name, int(since), _fields(ask), _fields(answer))
        return self._last


def _fields(text):
    """Fields of one side of a message, from its part of the table."""
    fields = []
    for part in text.strip().split(", ") if text.strip() else ():
        name, kind = part.split(" ", 1)
        if kind.startswith("text "):
            fields.append(Text(name, int(kind[5:])))
        elif kind.startswith("bytes "):
            fields.append(Blob(name, int(kind[6:])))
        else:
            low, _, high = kind.partition("..")
            fields.append(Number(name, int(low), U32 if high == "u32" else int(high)))
    return tuple(fields)


MESSAGES = Messages()


def write_fields(fields, values):
    """`name=value` words for `fields`, from the dict `values`, which must hold just these names."""
    if len(values) != len(fields):
        raise WireError("bad", "wrong number of fields")
    words = []
    for field in fields:
        if field.name not in values:
            raise WireError("bad", "%s is missing" % field.name)
        words.append("%s=%s" % (field.name, field.write(values[field.name])))
    return " ".join(words)


def read_fields(fields, words):
    """Dict of the values in `words` (list of `name=value`), which must come in the table's order."""
    if len(words) != len(fields):
        raise WireError("bad", "wrong number of fields")
    values = {}
    for field, word in zip(fields, words):
        lead = field.name + "="
        if not word.startswith(lead):
            raise WireError("bad", "%s is missing" % field.name)
        values[field.name] = field.read(word[len(lead) :])
    return values


def ask(name, values):
    """Body of the request `name`."""
    return ("%s %s" % (name, write_fields(MESSAGES[name].ask, values))).rstrip()


def read_ask(body):
    """(name, values) of a request's body."""
    words = body.split(" ")
    if words[0] not in MESSAGES:
        raise WireError("unknown", "the meter does not know this request")
    return words[0], read_fields(MESSAGES[words[0]].ask, words[1:])


def answer(name, values):
    """Body of the good answer to the request `name`."""
    return ("ok %s" % write_fields(MESSAGES[name].answer, values)).rstrip()


def refusal(error):
    """Body of the answer that refuses, from a WireError; a text that is too long for it is cut."""
    return "no " + write_fields(REFUSAL, {"code": error.code, "text": clip(error.text, REFUSAL[1].longest).decode()})


def read_answer(name, body):
    """Values of an answer's body; raises the WireError that the other side sent, or one of our own."""
    words = body.split(" ")
    if words[0] == "no":
        values = read_fields(REFUSAL, words[1:])
        raise WireError(values["code"], values["text"])
    if words[0] != "ok":
        raise WireError("bad", "the answer is neither ok nor no")
    return read_fields(MESSAGES[name].answer, words[1:])
