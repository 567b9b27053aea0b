"""The instrument the meter was sent: its reeds in the order in which they are to be sounded.

In memory a reed takes 11 bytes, because an accordion has hundreds; on flash it lies as it came (delivery.py).
"""

from array import array

from wire.errors import WireError

FILE = "shelf/instrument"


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


class Shelf:
    """`store`: a meter.store.Store. `current`: the Instrument on the shelf, or None.

    What receives an instrument is in memory only while one comes.
    """

    def __init__(self, store):
        self._store = store
        self._coming = None  # a delivery.Delivery
        self.current = None
        if store.size(FILE):
            from .delivery import stored

            self.current = stored(store)

    def begin(self, values):
        """Begins an instrument (values of `instrument`); one that was still coming is dropped."""
        from .delivery import Delivery

        self._coming = None
        self._coming = Delivery(values)

    def add(self, values):
        """Adds its next reed (values of `reed`)."""
        self._begun("a reed came before its instrument").add(values)

    def add_work(self, values):
        """What is known of one of its reeds (values of `work`); kept on flash only, for work.Work."""
        self._begun("work came before its instrument").add_work(values)

    def end(self, check):
        """Stores the instrument if it is whole and makes it `current`; returns how many reeds it has."""
        coming = self._begun("no instrument has begun")
        instrument = coming.whole(check)
        with self._store.writing() as pen:
            pen.folder("shelf")
            pen.replace(FILE, coming.lines())
        self._coming = None
        self.current = instrument
        return len(instrument)

    def _begun(self, refusal):
        if self._coming is None:
            raise WireError("order", refusal)
        return self._coming


def _kept(seen, thing):
    """Place of `thing` among those `seen`, of which it is one from now on."""
    if thing not in seen:
        seen.append(thing)
    return seen.index(thing)
