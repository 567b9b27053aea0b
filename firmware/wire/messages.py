"""Every message of the link, in one table. The protocol page of the docs is made from it.

The host asks, the meter answers; the meter never speaks first. A request is `name field=value ...`, its
answer `ok field=value ...` or `no code=... text=...`, under the number of the request. A request that is
repeated under the same number gets the same answer and is not carried out twice.
"""

from .errors import WireError
from .fields import Blob, Number, Text

PROTOCOL = 1
U32 = 0xFFFFFFFF
REEDS_MAX = 480
PULL_ROOM = 640  # bytes of journal in one answer; base64 of it fits a line


class Message:
    """One request: what it asks, what the answer carries, since which protocol version, and what it does."""

    def __init__(self, name, since, text, ask, answer):
        self.name = name
        self.since = since
        self.text = text
        self.ask = ask
        self.answer = answer


_TABLE = (
    Message(
        "hello",
        1,
        "First request of a conversation: who is there, and which protocol do both speak?",
        (
            Number("protocol", 1, 999, "newest protocol version the host speaks"),
            Text("ledger", 32, "identity of the ledger that asks"),
        ),
        (
            Number("protocol", 1, 999, "protocol version of the meter"),
            Text("firmware", 24, "firmware version"),
            Text("board", 24, "kind of board"),
            Text("serial", 32, "serial number of the board"),
            Number("epoch", 0, U32, "identity of this journal; a new one is drawn when the store is formatted"),
            Number("first_seq", 0, U32, "oldest record still in the journal"),
            Number("next_seq", 0, U32, "number the next record will get"),
            Number("free", 0, U32, "bytes of journal still free"),
            Number("torn", 0, U32, "torn records cut off at start, ever"),
            Text("home", 32, "the ledger whose acknowledgement frees memory; empty until one has asked"),
        ),
    ),
    Message(
        "clock",
        1,
        "Sets the meter's calendar from the host's; takes carry this time.",
        (Number("unix_s", 1600000000, U32, "seconds since 1970-01-01 UTC"),),
        (
            Number("was_unix_s", 0, U32, "what the meter thought; 0 if it did not know"),
            Number("meter_ms", 0, U32, "the meter's running clock, for measuring its error"),
        ),
    ),
    Message(
        "instrument",
        1,
        "Begins to send an instrument; its reeds follow one by one, then `instrument-end`.",
        (
            Text("key", 16, "identity of the instrument in the ledger"),
            Text("name", 40, "what the shop calls it"),
            Text("layout", 32, "identity of the layout"),
            Text("state", 16, "how the reeds will be sounded"),
            Number("reeds", 1, REEDS_MAX, "how many reeds follow"),
            Number("reference_mhz", 300000, 600000, "reference A in millihertz"),
            Number("tolerance_cc", 1, 5000, "tolerance in hundredths of a cent"),
            Number("pass_number", 0, 99, "which pass of the work this survey follows; 0 before any"),
        ),
        (),
    ),
    Message(
        "reed",
        1,
        "One reed of the instrument being sent, in the order in which they are to be sounded.",
        (
            Number("ordinal", 0, REEDS_MAX - 1, "the reed's number in the layout"),
            Number("target_uhz", 16000000, 4200000000, "target pitch in microhertz"),
            Text("place", 8, "hole, key or button as people call it"),
            Text("breath", 8, "blow, draw, push or pull"),
            Text("slide", 8, "out, in, or empty"),
            Text("plate", 8, "plate the tongue sits on"),
        ),
        (),
    ),
    Message(
        "instrument-end",
        1,
        "Ends an instrument: the meter checks that it has all reeds, stores it and offers its survey.",
        (Number("check", 0, U32, "CRC-32 over the bodies of the instrument's and its reeds' requests"),),
        (Number("stored", 0, REEDS_MAX, "reeds stored"),),
    ),
    Message(
        "pull",
        1,
        "Journal records after a number, as they lie in the meter, as many as fit.",
        (
            Number("from_seq", 0, U32, "first record wanted"),
            Number("room", 64, PULL_ROOM, "bytes at most"),
        ),
        (
            Blob("records", PULL_ROOM, "whole records one after another; empty when there are no more"),
            Number("next_seq", 0, U32, "what to ask for next"),
        ),
    ),
    Message(
        "acknowledge",
        1,
        "Everything before a number is safe in the host's ledger; from the home ledger this frees memory.",
        (
            Text("ledger", 32, "identity of the ledger that has committed"),
            Number("before_seq", 0, U32, "records below this number are safe"),
        ),
        (Number("freed", 0, U32, "bytes freed"),),
    ),
    Message(
        "status",
        1,
        "What the meter is doing now.",
        (),
        (
            Text("doing", 16, "name of the present activity"),
            Number("done", 0, REEDS_MAX, "reeds finished in this survey"),
            Number("of", 0, REEDS_MAX, "reeds in this survey"),
            Number("heap_free", 0, U32, "bytes of memory free"),
        ),
    ),
    Message("leave", 1, "Ends the firmware and leaves the meter at MicroPython's own prompt.", (), ()),
)

MESSAGES = {message.name: message for message in _TABLE}
REFUSAL = (Text("code", 16, "one of the error codes"), Text("text", 160, "a sentence for people"))


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
    """Body of the answer that refuses, from a WireError."""
    return "no " + write_fields(REFUSAL, {"code": error.code, "text": error.text[:100]})


def read_answer(name, body):
    """Values of an answer's body; raises the WireError that the other side sent, or one of our own."""
    words = body.split(" ")
    if words[0] == "no":
        values = read_fields(REFUSAL, words[1:])
        raise WireError(values["code"], values["text"])
    if words[0] != "ok":
        raise WireError("bad", "the answer is neither ok nor no")
    return read_fields(MESSAGES[name].answer, words[1:])
