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


class Message:
    """One request: since which protocol version there is one, the fields it asks with, those of its answer."""

    def __init__(self, name, since, ask, answer):
        self.name = name
        self.since = since
        self.ask = ask
        self.answer = answer


_TABLE = (
    Message(
        "hello",
        1,
        (
            Number("protocol", 1, 999),
            Text("ledger", 32),
        ),
        (
            Number("protocol", 1, 999),
            Text("firmware", 24),
            Text("board", 24),
            Text("serial", 32),
            Number("epoch", 0, U32),
            Number("first_seq", 0, U32),
            Number("next_seq", 0, U32),
            Number("free", 0, U32),
            Number("torn", 0, U32),
            Text("home", 32),
        ),
    ),
    Message(
        "clock",
        1,
        (Number("unix_s", 1600000000, U32),),
        (
            Number("was_unix_s", 0, U32),
            Number("meter_ms", 0, U32),
        ),
    ),
    Message(
        "ticks",
        2,
        (),
        (
            Number("boot", 0, U32),
            Number("up_s", 0, U32),
            Number("us", 0, COUNTER_US - 1),
        ),
    ),
    Message(
        "calibrate",
        2,
        (
            Text("ledger", 32),
            Number("error_ppb", -500000, 500000),
            Number("u_ppb", 0, 65535),
        ),
        (Number("taken", 0, 1),),
    ),
    Message(
        "instrument",
        1,
        (
            Text("key", 16),
            Text("name", 40),
            Text("layout", 32),
            Text("state", 32),
            Number("reeds", 1, REEDS_MAX),
            Number("reference_mhz", 300000, 600000),
            Number("tolerance_cc", 1, 5000),
            Number("pass_number", 0, 99),
        ),
        (),
    ),
    Message(
        "reed",
        1,
        (
            Number("ordinal", 0, REEDS_MAX - 1),
            Number("target_uhz", 16000000, 4290000000),
            Text("place", 8),
            Text("breath", 8),
            Text("slide", 8),
            Text("plate", 8),
            Text("member", 8),
        ),
        (),
    ),
    Message(
        "work",
        3,
        (
            Number("ordinal", 0, REEDS_MAX - 1),
            Number("order", 0, REEDS_MAX),
            Number("stop_ccent", -30000, 30000),
            Number("last_ccent", -30000, 30000),
            Number("last_u95_ccent", 0, 30000),
        ),
        (),
    ),
    Message(
        "instrument-end",
        1,
        (Number("check", 0, U32),),
        (Number("stored", 0, REEDS_MAX),),
    ),
    Message(
        "pull",
        1,
        (
            Number("from_seq", 0, U32),
            Number("room", 64, PULL_ROOM),
        ),
        (
            Blob("records", PULL_ROOM),
            Number("next_seq", 0, U32),
        ),
    ),
    Message(
        "acknowledge",
        1,
        (
            Text("ledger", 32),
            Number("before_seq", 0, U32),
        ),
        (Number("freed", 0, U32),),
    ),
    Message("home", 3, (Text("ledger", 32),), ()),
    Message(
        "status",
        1,
        (),
        (
            Text("doing", 16),
            Number("done", 0, REEDS_MAX),
            Number("of", 0, REEDS_MAX),
            Number("heap_free", 0, U32),
        ),
    ),
    Message("leave", 1, (), ()),
)

MESSAGES = {message.name: message for message in _TABLE}
REFUSAL = (Text("code", 16), Text("text", 160))


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
