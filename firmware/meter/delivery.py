"""An instrument on its way to the shelf: from the host, message by message, or at power-on from flash.

On flash it lies as the bodies of the messages it came in, one a line, and is checked as it was when it came.
"""

import binascii
import struct

from wire import messages, record
from wire.errors import WireError

from .shelf import FILE, Instrument

CONTROLS = 2  # soundings of the control reed beside its own turn
WORK_FIELDS = ("ordinal", "order", "stop_ccent", "last_ccent", "last_u95_ccent")  # of the message `work`
WORK = "<HHhhH"  # how one lies in memory
WORK_SIZE = 10


class Delivery:
    """Begins with the values of its `instrument` message; all below raise WireError for what does not belong.

    `body`: of the message the values came in, where it is at hand; else it is written again.
    """

    def __init__(self, values, body=None):
        record.state_byte(values["state"])
        self._instrument = Instrument(values)
        self._seen = bytearray(messages.REEDS_MAX)  # how often each ordinal has come
        self._control = -1  # the one that has come again
        self._work = bytearray()  # what is known of its reeds, packed
        self.check = _crc("instrument", values, body, 0)

    def add(self, values, body=None):
        """The next reed (values of `reed`)."""
        ordinal = values["ordinal"]
        role = self._seen[ordinal]
        if role > CONTROLS or (role and self._control not in (-1, ordinal)):
            raise WireError("bad", "reed %d came twice" % ordinal)
        self._instrument.put(values, role)
        self._seen[ordinal] += 1
        if role:
            self._control = ordinal
        self.check = _crc("reed", values, body, self.check)

    def add_work(self, values, body=None):
        """What is known of a reed (values of `work`)."""
        if len(self._work) >= len(self._instrument) * WORK_SIZE:
            raise WireError("bad", "there is more work than reeds")
        self._work.extend(struct.pack(WORK, *[values[name] for name in WORK_FIELDS]))
        self.check = _crc("work", values, body, self.check)

    def whole(self, check):
        """The Instrument, if it has come whole and as it was sent."""
        instrument = self._instrument
        wanted = instrument.facts["reeds"]
        if len(instrument) < wanted:
            raise WireError("order", "only %d of %d reeds have come" % (len(instrument), wanted))
        if check != self.check:
            raise WireError("bad", "the instrument arrived altered: send it again")
        instrument.check = check
        return instrument

    def lines(self):
        """Lines of the file: the bodies of all messages it came in, one after another."""
        reeds = self._instrument
        yield _line("instrument", reeds.facts)
        for i in range(len(reeds)):
            values = {"ordinal": reeds.ordinal(i), "target_uhz": reeds.target_uhz(i), "place": reeds.place(i)}
            values.update(breath=reeds.breath(i), slide=reeds.slide(i), plate=reeds.plate(i), member=reeds.member(i))
            yield _line("reed", values)
        for at in range(0, len(self._work), WORK_SIZE):
            yield _line("work", dict(zip(WORK_FIELDS, struct.unpack_from(WORK, self._work, at))))
        yield _line("instrument-end", {"check": self.check})


def stored(store):
    """The Instrument in the store's file, or None where that is not what was stored."""
    try:
        with store.reading(FILE) as file:
            coming = None
            for line in file:
                body = line.decode().rstrip("\n")
                name, values = messages.read_ask(body)
                if name == "instrument":
                    coming = Delivery(values, body)
                elif name == "reed":
                    coming.add(values, body)
                elif name == "work":
                    coming.add_work(values, body)
                else:
                    return coming.whole(values["check"])
    except (WireError, UnicodeError, AttributeError):  # the last: a line before that of the instrument
        pass
    return None


def _line(name, values):
    return messages.ask(name, values).encode() + b"\n"


def _crc(name, values, body, before):
    return binascii.crc32((body or messages.ask(name, values)).encode(), before)
