"""The instrument the meter was sent: its reeds in the order in which they are to be sounded.

On flash it lies as the bodies of the messages it came in, one a line, and is checked at boot as it was when
it came. In memory a reed takes 11 bytes, because an accordion has hundreds.
"""

import binascii
import struct
from array import array

from wire import messages, record
from wire.errors import WireError

CONTROLS = 2  # soundings of the control reed beside its own turn
FILE = "shelf/instrument"
WORK_FIELDS = ("ordinal", "order", "stop_ccent", "last_ccent", "last_u95_ccent")  # of the message `work`
WORK = "<HHhhH"  # how one lies in memory
WORK_SIZE = 10


class Instrument:
    """One instrument and the survey wanted of it; `facts` are the values of its `instrument` message.

    A reed is asked for by its position in sounding order, from 0. One that has several is the control reed.
    """

    def __init__(self, facts):
        self.facts = facts
        self.key = facts["key"]
        self.name = facts["name"]
        self.layout = facts["layout"]
        self.state = facts["state"]
        self.reference_mhz = facts["reference_mhz"]
        self.tolerance_cc = facts["tolerance_cc"]
        self.pass_number = facts["pass_number"]
        self.check = 0  # of all it came in, once it is whole
        self._count = 0
        self._targets = array("I", bytes(4 * facts["reeds"]))
        self._ordinals = array("H", bytes(2 * facts["reeds"]))
        self._roles = bytearray(facts["reeds"])
        # Places repeat, and so does all else that is said of where a reed is: each is kept once.
        self._place_of = array("H", bytes(2 * facts["reeds"]))
        self._places = []
        self._spot_of = array("H", bytes(2 * facts["reeds"]))
        self._spots = []  # (breath, slide, plate, member)

    def __len__(self):
        return self._count

    def ordinal(self, i):
        """The reed's number in the layout."""
        return self._ordinals[i]

    def role(self, i):
        """0 for a reed's own turn; 1 where it is asked for again as the control reed, 2 where it is once more."""
        return self._roles[i]

    def reeds(self):
        """How many there are, the control reed counted once."""
        return sum([1 for role in self._roles if not role])

    def target_uhz(self, i):
        """Target pitch in microhertz."""
        return self._targets[i]

    def place(self, i):
        """Hole, key or button, as people call it."""
        return self._places[self._place_of[i]]

    def breath(self, i):
        """Blow, draw, push, pull, or empty where air flows one way only."""
        return self._spots[self._spot_of[i]][0]

    def slide(self, i):
        """Out, in, or empty."""
        return self._spots[self._spot_of[i]][1]

    def plate(self, i):
        """Plate the tongue sits on."""
        return self._spots[self._spot_of[i]][2]

    def member(self, i):
        """Bank, or member of a pair; empty where there is one."""
        return self._spots[self._spot_of[i]][3]

    def put(self, values, role):
        """Adds the next reed, from the values of its `reed` message."""
        i = self._count
        if i == len(self._ordinals):
            raise WireError("order", "all %d reeds have come already" % i)
        self._ordinals[i] = values["ordinal"]
        self._roles[i] = role
        self._targets[i] = values["target_uhz"]
        self._place_of[i] = _kept(self._places, values["place"])
        spot = (values["breath"], values["slide"], values["plate"], values["member"])
        self._spot_of[i] = _kept(self._spots, spot)
        self._count += 1

    def bodies(self):
        """The messages it came in, one after another."""
        yield messages.ask("instrument", self.facts)
        for i in range(len(self)):
            yield messages.ask(
                "reed",
                {
                    "ordinal": self.ordinal(i),
                    "target_uhz": self.target_uhz(i),
                    "place": self.place(i),
                    "breath": self.breath(i),
                    "slide": self.slide(i),
                    "plate": self.plate(i),
                    "member": self.member(i),
                },
            )


class Shelf:
    """`store`: a meter.store.Store. `current`: the Instrument on the shelf, or None."""

    def __init__(self, store):
        self._store = store
        self._coming = None
        self._seen = None  # how often each ordinal has come, one byte each
        self._control = -1  # the one that has come again
        self._work = None  # what is known of its reeds, packed
        self._check = 0
        self.current = self._load() if store.size(FILE) else None
        self._coming = self._seen = self._work = None

    def begin(self, values):
        """Begins an instrument (values of `instrument`); one that was still coming is dropped."""
        self._coming = None
        record.state_byte(values["state"])
        self._coming = Instrument(values)
        self._seen = bytearray(messages.REEDS_MAX)
        self._control = -1
        self._work = bytearray()
        self._check = _crc("instrument", values, 0)

    def add(self, values):
        """Adds its next reed (values of `reed`)."""
        if self._coming is None:
            raise WireError("order", "a reed came before its instrument")
        ordinal = values["ordinal"]
        role = self._seen[ordinal]
        if role > CONTROLS or (role and self._control not in (-1, ordinal)):
            raise WireError("bad", "reed %d came twice" % ordinal)
        self._coming.put(values, role)
        self._seen[ordinal] += 1
        if role:
            self._control = ordinal
        self._check = _crc("reed", values, self._check)

    def add_work(self, values):
        """What is known of one of its reeds (values of `work`); kept on flash only, for work.Work."""
        if self._coming is None:
            raise WireError("order", "work came before its instrument")
        if len(self._work) >= len(self._coming) * WORK_SIZE:
            raise WireError("bad", "there is more work than reeds")
        self._work.extend(struct.pack(WORK, *[values[name] for name in WORK_FIELDS]))
        self._check = _crc("work", values, self._check)

    def end(self, check):
        """Stores the instrument if it is whole and makes it `current`; returns how many reeds it has."""
        instrument = self._whole(check)
        with self._store.writing() as pen:
            pen.folder("shelf")
            pen.replace(FILE, _lines(instrument, self._work, check))
        self._coming = self._seen = self._work = None
        self.current = instrument
        return len(instrument)

    def _whole(self, check):
        instrument = self._coming
        if instrument is None:
            raise WireError("order", "no instrument has begun")
        wanted = instrument.facts["reeds"]
        if len(instrument) < wanted:
            raise WireError("order", "only %d of %d reeds have come" % (len(instrument), wanted))
        if check != self._check:
            raise WireError("bad", "the instrument arrived altered: send it again")
        instrument.check = check
        return instrument

    def _load(self):
        """The stored instrument, or None where the file is not what was stored."""
        try:
            with self._store.reading(FILE) as file:
                for line in file:
                    name, values = messages.read_ask(line.decode().rstrip("\n"))
                    if name == "instrument":
                        self.begin(values)
                    elif name == "reed":
                        self.add(values)
                    elif name == "work":
                        self.add_work(values)
                    else:
                        return self._whole(values["check"])
        except (WireError, UnicodeError):
            pass
        return None


def _kept(seen, thing):
    """Place of `thing` among those `seen`, of which it is one from now on."""
    if thing not in seen:
        seen.append(thing)
    return seen.index(thing)


def _crc(name, values, before):
    return binascii.crc32(messages.ask(name, values).encode(), before)


def _lines(instrument, work, check):
    for body in instrument.bodies():
        yield body.encode() + b"\n"
    for at in range(0, len(work), WORK_SIZE):
        values = dict(zip(WORK_FIELDS, struct.unpack_from(WORK, work, at)))
        yield messages.ask("work", values).encode() + b"\n"
    yield messages.ask("instrument-end", {"check": check}).encode() + b"\n"
