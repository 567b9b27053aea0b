"""What the host sent of an instrument's reeds beside their targets: the plan, and their last accepted readings.

It is read from flash when a mode needs it; in memory a reed takes ten bytes.
"""

import struct

from wire import messages

from .delivery import WORK, WORK_FIELDS, WORK_SIZE
from .shelf import FILE


class Work:
    """`store`: meter.store.Store, on whose flash the instrument on the shelf lies."""

    def __init__(self, store):
        self._packed = bytearray()
        with store.reading(FILE) as file:
            for line in file:
                if line.startswith(b"work "):
                    values = messages.read_ask(line.decode().rstrip("\n"))[1]
                    self._packed.extend(struct.pack(WORK, *[values[name] for name in WORK_FIELDS]))

    def of(self, ordinal):
        """(place in the order of the work, 0 for none; where to stop, last reading, its expanded uncertainty, in
        cents) of the reed of that ordinal; the uncertainty is 0 where there is no reading."""
        for at in range(0, len(self._packed), WORK_SIZE):
            found = struct.unpack_from(WORK, self._packed, at)
            if found[0] == ordinal:
                return found[1], found[2] / 100, found[3] / 100, found[4] / 100
        return 0, 0.0, 0.0, 0.0
