"""A flash chip in a file: erased to ones by 4096-byte sectors, programmed to zeros, as NOR flash is."""

import errno

SECTOR = 4096
SECTORS = 352  # the 1.4 MB that a Pico's MicroPython leaves to files


class Flash:
    """Block device for MicroPython's file systems over the image file `path`, made erased if absent."""

    def __init__(self, path):
        try:
            self._image = open(path, "r+b")
        except OSError as error:
            if error.errno != errno.ENOENT:
                raise
            self._image = open(path, "w+b")
            for _ in range(SECTORS):
                self._image.write(b"\xff" * SECTOR)
        if self._image.seek(0, 2) != SECTOR * SECTORS:
            raise ValueError("%s is not a flash image of %d bytes" % (path, SECTOR * SECTORS))

    def readblocks(self, sector, buffer, offset=0):
        self._image.seek(sector * SECTOR + offset)
        self._image.readinto(buffer)

    def writeblocks(self, sector, data, offset=None):
        if offset is None:
            for each in range(sector, sector + len(data) // SECTOR):
                self._erase(each)
        self._program(sector * SECTOR + (offset or 0), data)

    def ioctl(self, request, argument):
        if request == 4:  # how many sectors
            return SECTORS
        if request == 5:  # bytes of one
            return SECTOR
        if request == 6:
            self._erase(argument)
        return 0

    def _erase(self, sector):
        self._image.seek(sector * SECTOR)
        self._image.write(b"\xff" * SECTOR)

    def _program(self, at, data):
        self._image.seek(at)
        there = self._image.read(len(data))
        if there != b"\xff" * len(data):
            data = bytes(old & new for old, new in zip(there, data))
        self._image.seek(at)
        self._image.write(data)
