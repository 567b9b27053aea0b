"""How far the survey has come, on flash, so that it goes on where it stopped: after the power went, or another mode.

The journal alone does not tell: what the host has pulled is freed there, also in the middle of a survey. Written when
a reed's mark changes. Of a reed that was being sounded then the takes are begun afresh.
"""

import struct

from wire import record
from wire.errors import WireError
from wire.frames import crc32

from .journal import RECORD_MAX

FILE = "shelf/progress"
# Epoch of the journal; which instrument; number of the survey's record; records there were; state; ended; states;
# what takes scatter by, thousandths of a cent, and from how many reeds
_HEAD = "<IIIIBBBHH"
_NONE = 0xFFFFFFFF  # no record yet


class Progress:
    """`store`: meter.store.Store; `journal`: the journal that the survey's records lie in."""

    def __init__(self, store, journal):
        self._store = store
        self._journal = journal
        self._kept = None

    def keep(self, survey, scribe):
        """Writes it down if there is anything new. Raises WireError where that cannot be."""
        if self._kept == (survey.state, bytes(survey.marks), scribe.ended):
            return
        marks = survey.marks_in()
        data = struct.pack(
            _HEAD,
            self._journal.epoch,
            survey.instrument.check,
            _NONE if scribe.survey is None else scribe.survey,
            self._journal.next_seq - bool(survey.takes),
            survey.state,
            scribe.ended,
            len(marks),
            int(1000 * survey.scatter.cents + 0.5),
            survey.scatter.reeds,
        )
        data += bytes(survey.numbers)
        for state in marks:
            data += bytes((state,)) + bytes(marks[state])
        with self._store.writing() as pen:
            pen.replace(FILE, data + struct.pack("<I", crc32(data)))
        self._kept = (survey.state, bytes(survey.marks), scribe.ended)

    def restore(self, survey, scribe):
        """Takes `survey` and `scribe` to where they were; a survey that has ended is followed by a new one."""
        found = self._found(survey.instrument)
        if not found or self._ends(found):
            return
        _, _, home, records, state, _, states, mcent, scattered, data = found
        reeds = len(survey.instrument)
        marks = {}
        for i in range(states):
            at = reeds + i * (reeds + 1)
            marks[data[at]] = bytearray(data[at + 1 : at + 1 + reeds])
        survey.scatter.cents, survey.scatter.reeds = mcent / 1000, scattered
        survey.resume(state, marks, data[:reeds], self._journal.next_seq > records)
        if home != _NONE:
            scribe.survey = home

    def forget(self):
        """The instrument has been loaded anew: its survey begins afresh. Raises WireError."""
        if self._store.size(FILE):
            with self._store.writing() as pen:
                pen.remove(FILE)

    def ended(self, instrument):
        """Whether the survey of this shelf.Instrument that was begun last has ended."""
        found = self._found(instrument)
        return bool(found and self._ends(found))

    def _ends(self, found):
        """Whether its end is noted, or in the journal and the power went before that was noted here."""
        if found[5]:
            return True
        data, _ = self._journal.read(found[3], RECORD_MAX) if found[3] < self._journal.next_seq else (b"", 0)
        if not record.measure(data):
            return False
        kind, number, values = record.unpack(data)
        return kind == "end" and number == found[3] and values["survey"] == found[2]

    def _found(self, instrument):
        """Values of _HEAD, then the rest of the file; None where it is not of this instrument and journal."""
        try:
            data = self._store.read(FILE)
        except WireError:
            return None
        size, reeds = struct.calcsize(_HEAD), len(instrument)
        if len(data) < size + 4 or struct.unpack("<I", data[-4:])[0] != crc32(data[:-4]):
            return None
        head = struct.unpack(_HEAD, data[:size])
        if head[0] != self._journal.epoch or head[1] != instrument.check:
            return None
        if len(data) != size + reeds + head[6] * (reeds + 1) + 4:
            return None
        return head + (data[size:-4],)
