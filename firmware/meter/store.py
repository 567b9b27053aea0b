"""Files on the meter's flash, and the one way to write them.

While flash is erased or programmed, interrupts are off, and a running I2S receiver then overwrites memory
past its buffer. So writing needs a pen, and taking up the pen stops the microphone:

    with store.writing() as pen:
        pen.append("journal/00000000", data)

Nothing else in the firmware opens a file for writing. Names are relative to the store's root, and come from
the firmware, never from the link.
"""

import errno
import os

from wire.errors import WireError

_NO_SPACE = 28  # ENOSPC, which MicroPython's errno leaves out
_PIECE = 512  # bytes copied at a time
_DRAFT = ".new"  # what a file is called until it is whole


def _refusal(error):
    if error.errno == _NO_SPACE:
        return WireError("full", "the meter's memory is full")
    return WireError("store", "the meter's memory failed with error %s" % error.errno)


class Store:
    """`root`: path the file system is mounted at, "" for "/". `microphone`: `running`, `stop()`, `start()`.

    Every fault of the file system comes out as WireError "full" or "store".
    """

    def __init__(self, root, microphone):
        self._root = root
        self._microphone = microphone

    def _path(self, name):
        return "%s/%s" % (self._root, name)

    def reading(self, name):
        """The file `name` for reading bytes, for a `with` statement; there must be one."""
        return _Reading(self._path(name))

    def read(self, name):
        """All bytes of a small file; b"" where there is none."""
        if not self.size(name):
            return b""
        with self.reading(name) as file:
            return file.read()

    def names(self, folder):
        """Sorted names of the files in `folder`; none where there is no such folder."""
        try:
            return sorted(entry[0] for entry in os.ilistdir(self._path(folder)))
        except OSError as error:
            if error.errno == errno.ENOENT:
                return []
            raise _refusal(error)

    def size(self, name):
        """Bytes in the file `name`; 0 where there is none."""
        try:
            return os.stat(self._path(name))[6]
        except OSError as error:
            if error.errno == errno.ENOENT:
                return 0
            raise _refusal(error)

    def free(self):
        """Bytes of blocks nothing uses yet."""
        try:
            facts = os.statvfs(self._root or "/")
        except OSError as error:
            raise _refusal(error)
        return facts[1] * facts[3]

    def writing(self):
        """A pen to write with, for a `with` statement."""
        return _Pen(self._path, self._microphone)


class _Reading:
    def __init__(self, path):
        self._path = path
        self._file = None

    def __enter__(self):
        try:
            self._file = open(self._path, "rb")
        except OSError as error:
            raise _refusal(error)
        return self._file

    def __exit__(self, kind, error, trace):
        self._file.close()
        if isinstance(error, OSError):
            raise _refusal(error)


class _Pen:
    def __init__(self, path, microphone):
        self._path = path
        self._microphone = microphone
        self._down = False
        self._listening = False

    def __enter__(self):
        self._listening = self._microphone.running
        if self._listening:
            self._microphone.stop()
        self._down = True
        return self

    def __exit__(self, kind, error, trace):
        self._down = False
        if self._listening:
            self._microphone.start()
        if isinstance(error, OSError):
            raise _refusal(error)

    def _at(self, name):
        """Path of `name`, for those who hold the pen while the microphone stands still."""
        if not self._down or self._microphone.running:
            raise RuntimeError("the microphone may be running: write inside `with store.writing()`")
        return self._path(name)

    def append(self, name, data):
        """Adds `data` to the end of `name`, made if need be; on flash when this returns."""
        with open(self._at(name), "ab") as file:
            file.write(data)
            file.flush()

    def replace(self, name, data):
        """Makes `data`, bytes or an iterable of bytes, all of `name`; a cut leaves the old or the new."""
        self._clear(name + _DRAFT)  # of an earlier cut: its blocks would stay in use until the new one is whole
        with open(self._at(name + _DRAFT), "wb") as file:
            for piece in (data,) if isinstance(data, bytes) else data:
                file.write(piece)
            file.flush()
        os.rename(self._at(name + _DRAFT), self._at(name))

    def cut(self, name, size):
        """Keeps the first `size` bytes of `name`, as whole as `replace`."""
        with open(self._at(name), "rb") as file:
            self.replace(name, _beginning(file, size))

    def remove(self, name):
        """Removes the file `name`, which must exist."""
        os.remove(self._at(name))

    def _clear(self, name):
        """Removes the file `name` if there is one."""
        try:
            os.remove(self._at(name))
        except OSError as error:
            if error.errno != errno.ENOENT:
                raise

    def folder(self, name):
        """Makes the folder `name` unless it is there."""
        try:
            os.mkdir(self._at(name))
        except OSError as error:
            if error.errno != errno.EEXIST:
                raise


def _beginning(file, size):
    while size:
        piece = file.read(min(size, _PIECE))
        if not piece:
            return
        size -= len(piece)
        yield piece
