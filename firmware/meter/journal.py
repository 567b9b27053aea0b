"""The journal: records of wire/record.py on flash, appended in segments, never changed.

    journal/epoch       eight hex digits, drawn when the journal is begun: which journal is this?
    journal/home        the ledger whose acknowledgement frees memory
    journal/torn        how many torn records have been cut off, ever, and which was the last
    journal/0000017f    a segment, named by the number of its first record

A number is never given twice, even after everything was reclaimed: the newest segment stays, empty if need
be, because its name says which number comes next. Only the newest segment can end in a torn record, since a
later one is begun only after a sound record; so only that one is scanned at boot. Damage elsewhere is stepped
over when it is read, and shows as a gap in the numbers.
"""

from wire import record
from wire.errors import WireError
from wire.frames import hexadecimal

SEGMENT = 16368  # bytes: what four 4096-byte blocks of a littlefs file hold beside its own pointers
RESERVE = (
    44 * 4096
)  # bytes left alone: the largest instrument with its work, old and new, and room for littlefs to work
RECORD_MAX = record.HEAD_SIZE + record.PAYLOAD_MAX + record.TAIL_SIZE
_MARK = bytes((record.MARK,))


class Journal:
    """`store`: a meter.store.Store. `entropy`: function that returns 32 random bits.

    `epoch`, `home`, `torn`, `next_seq`: as in the answer to `hello`. `boot`: a number drawn for this run of the meter.
    """

    def __init__(self, store, entropy):
        self._store = store
        if not _segments(store.names("journal")):
            self._begin(entropy)
        self.epoch = hexadecimal(store.read("journal/epoch"))
        self.home = store.read("journal/home").decode()
        self.boot = entropy()
        self._look()

    @property
    def first_seq(self):
        """Oldest record held; `next_seq` when none is."""
        return self._firsts[0]

    def free(self):
        """Bytes of journal that still fit."""
        return max(0, self._store.free() - RESERVE)

    def add(self, kind, values):
        """Puts one record on flash and returns its number; raises WireError "full", overwriting nothing."""
        self._be_sure()
        data = record.pack(kind, self.next_seq, values)
        if self.free() < len(data):
            raise WireError("full", "the meter's memory is full: pull its takes")
        fresh = self._size + len(data) > SEGMENT
        first = self.next_seq if fresh else self._firsts[-1]
        self._sure = False
        with self._store.writing() as pen:
            pen.append(_name(first), data)
        self._sure = True
        if fresh:
            self._firsts.append(first)
            self._size = 0
        self._size += len(data)
        self.next_seq += 1
        return self.next_seq - 1

    def read(self, from_seq, room):
        """(whole records from `from_seq` on, in at most `room` bytes; the number to ask for next)."""
        self._be_sure()
        pieces = []
        number, first, place = self._cursor
        if number != from_seq:
            number, first, place = from_seq, self._segment_of(from_seq), 0
        for segment in self._firsts[self._firsts.index(first) :]:
            with self._store.reading(_name(segment)) as file:
                for at, sequence, data in _records(file, place):
                    if sequence < number:
                        continue
                    if len(data) > room:
                        if not pieces:
                            raise WireError("bad", "the next record takes %d bytes" % len(data))
                        self._cursor = (number, segment, at)
                        return b"".join(pieces), number
                    pieces.append(data)
                    room -= len(data)
                    number = sequence + 1
            place = 0
        return b"".join(pieces), self.next_seq

    def claim(self, ledger):
        """Makes `ledger` the home of this journal."""
        with self._store.writing() as pen:
            pen.replace("journal/home", ledger.encode())
        self.home = ledger

    def reclaim(self, before_seq):
        """Removes the segments that hold only records below `before_seq`; returns the bytes they took."""
        self._be_sure()
        empty_newest = before_seq >= self.next_seq and self._size > 0
        bounds = self._firsts[1:] + ([self.next_seq] if empty_newest else [])
        done = [first for first, bound in zip(self._firsts, bounds) if bound <= before_seq]
        if not done:
            return 0
        freed = 0
        self._sure = False
        with self._store.writing() as pen:
            if empty_newest:
                pen.append(_name(self.next_seq), b"")
                self._firsts.append(self.next_seq)
                self._size = 0
            for first in done:
                freed += self._store.size(_name(first))
                pen.remove(_name(first))
                self._firsts.remove(first)
        self._sure = True
        self._cursor = (self.first_seq, self.first_seq, 0)
        return freed

    def _begin(self, entropy):
        with self._store.writing() as pen:
            pen.folder("journal")
            pen.replace("journal/epoch", b"%08x" % entropy())
            pen.append(_name(0), b"")

    def _be_sure(self):
        """After a write that failed nobody knows how far it came, so looks again before the next thing is done."""
        if not self._sure:
            self._look()

    def _look(self):
        """Learns from flash what is there, and cuts a torn record off the newest segment."""
        self._firsts = _segments(self._store.names("journal"))
        first = self._firsts[-1]
        name = _name(first)
        self.next_seq = first
        self._size = 0  # bytes in the newest segment
        with self._store.reading(name) as file:
            for at, sequence, data in _records(file, 0):
                self._size = at + len(data)
                self.next_seq = max(self.next_seq, sequence + 1)
        self.torn, last = _torn(self._store.read("journal/torn"))
        size = self._store.size(name)
        if self._size < size:
            self._cut_off(name, last, b"%s %d %d" % (name.encode(), self._size, size))
        self._cursor = (self.first_seq, self.first_seq, 0)  # a record's number, its segment, its place there
        self._sure = True

    def _cut_off(self, name, last, this):
        """Counts the torn record first: if the power goes before it is cut off, it is known by its place again."""
        with self._store.writing() as pen:
            if this != last:
                pen.replace("journal/torn", b"%d %s" % (self.torn + 1, this))
                self.torn += 1
            pen.cut(name, self._size)

    def _segment_of(self, number):
        """The segment that holds record `number`, or would."""
        best = self._firsts[0]
        for first in self._firsts:
            if first <= number:
                best = first
        return best


def _name(first):
    return "journal/%08x" % first


def _torn(text):
    """(how many, which was the last) from the file of that name."""
    count, _, last = text.partition(b" ")
    return int(count or b"0"), last


def _segments(names):
    firsts = []
    for name in names:
        try:
            if len(name) == 8:
                firsts.append(hexadecimal(name.encode()))
        except WireError:
            pass
    return firsts


def _records(file, at):
    """(place, number, bytes) of each sound record of an open segment from `at` on, stepping over all else."""
    while True:
        file.seek(at)
        data = file.read(RECORD_MAX)
        total = record.measure(data)
        if total:
            yield at, record.sequence_of(data), data[:total]
            at += total
        elif len(data) > record.HEAD_SIZE + record.TAIL_SIZE:
            mark = data.find(_MARK, 1)
            at += mark if mark > 0 else len(data)
        else:
            return
