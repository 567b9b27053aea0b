"""The desk's flash and the journal on it: littlefs as on a Pico, full, restarted, spoilt."""

from pathlib import Path
from typing import Any

START = """
from boards.desk import bench
bench.settings.update(flash=values)
from boards.desk import store as board
from boards.desk.flash import Flash
from meter.journal import RESERVE, Journal
from meter.shelf import Shelf
from meter.store import Store
from wire.errors import WireError
from quiet import Microphone, take

def begin(epoch=1):
    store = Store(board.mount(), Microphone())
    return store, Journal(store, lambda: epoch)
"""


def test_the_chip_is_erased_to_ones_and_programmed_to_zeros(micropython: Any, tmp_path: Path) -> None:
    found = micropython(
        START
        + """
flash = Flash(values)
piece = bytearray(4)
def read(sector, offset):
    flash.readblocks(sector, piece, offset)
    return list(piece)
found = [flash.ioctl(4, 0), flash.ioctl(5, 0), read(351, 4092)]
flash.writeblocks(3, b"\\x0f\\xff\\x00\\x55", 256)
flash.writeblocks(3, b"\\xf8\\xff\\xff\\x5a", 256)
found.append(read(3, 256))
flash.ioctl(6, 3)
found.append(read(3, 256))
flash.writeblocks(3, b"\\0" * 4096)
flash.writeblocks(3, b"\\1" * 4096)
found.append(read(3, 0))
print(json.dumps(found))
""",
        str(tmp_path / "flash"),
    )
    assert found == [352, 4096, [255] * 4, [8, 255, 0, 0x50], [255] * 4, [1] * 4]
    assert (tmp_path / "flash").stat().st_size == 352 * 4096


def test_what_is_on_flash_survives_a_restart(micropython: Any, tmp_path: Path) -> None:
    flash = str(tmp_path / "flash")
    micropython(START + "_, j = begin(7)\nfor i in range(5): j.add('take', take(i))\nprint(0)", flash)
    assert micropython(
        START + "_, j = begin(8)\nprint(json.dumps([j.epoch, j.next_seq, len(j.read(0, 684)[0])]))", flash
    ) == [7, 5, 4 * 169]


def test_flash_that_cannot_be_mounted_is_formatted_and_the_journal_is_a_new_one(
    micropython: Any, tmp_path: Path
) -> None:
    flash = tmp_path / "flash"
    micropython(START + "_, journal = begin(7)\njournal.add('take', take(0))\nprint(0)", str(flash))
    data = bytearray(flash.read_bytes())
    data[: 2 * 4096] = bytes(2 * 4096)
    flash.write_bytes(data)
    script = START + "_, j = begin(8)\nprint(json.dumps([j.epoch, j.next_seq]))"
    assert micropython(script, str(flash)) == [8, 0]


def test_an_image_of_another_size_is_refused(micropython: Any, tmp_path: Path) -> None:
    flash = tmp_path / "flash"
    flash.write_bytes(b"a letter to my aunt")
    script = START + "try:\n board.mount()\nexcept ValueError as error:\n print(json.dumps(str(error)))"
    assert "is not a flash image" in micropython(script, str(flash))
    assert flash.read_bytes() == b"a letter to my aunt"


def test_a_full_meter_refuses_keeps_everything_and_still_takes_an_instrument(micropython: Any, tmp_path: Path) -> None:
    found = micropython(
        START
        + """
import binascii
from wire import messages
store, journal = begin()
with store.writing() as pen:
    for i in range(90):
        pen.append("ballast", b"b" * 8192)
codes = []
added = 0
while len(codes) < 2:
    try:
        journal.add("take", take(added))
        added += 1
    except WireError as error:
        codes.append(error.code)
facts = [codes, journal.next_seq == added, journal.free() < 169, store.free() >= RESERVE]

shelf = Shelf(store)
for _ in range(2):
    told = dict(key="k" * 16, name="n" * 40, layout="l" * 32, state="assembled", reeds=480,
                reference_mhz=440000, tolerance_cc=100, pass_number=0)
    check = binascii.crc32(messages.ask("instrument", told).encode())
    shelf.begin(told)
    for i in range(480):
        reed = dict(ordinal=i, target_uhz=1000000000, place="button%d" % (i % 10), breath="b" * 8,
                    slide="s" * 8, plate="p" * 8, member="m" * 8)
        check = binascii.crc32(messages.ask("reed", reed).encode(), check)
        shelf.add(reed)
    facts.append(shelf.end(check))

import vfs
vfs.umount("/flash")
store, journal = begin(2)
number = count = 0
while number < journal.next_seq:
    data, number = journal.read(number, 684)
    count += len(data) // 169
facts.append([journal.epoch, journal.next_seq == added, count == added, added > 1000])
freed = journal.reclaim(added)
facts.append([freed == 169 * added, journal.add("take", take(0)) == added])
print(json.dumps(facts))
""",
        str(tmp_path / "flash"),
    )
    assert found == [["full", "full"], True, True, True, 480, 480, [1, True, True, True], [True, True]]


def test_what_a_cut_left_half_written_makes_room_before_it_is_written_anew(micropython: Any, tmp_path: Path) -> None:
    """littlefs keeps the blocks of a file that is written anew until that is whole: there is no room for three."""
    found = micropython(
        START
        + """
store, _ = begin()
with store.writing() as pen:
    pen.append("x.new", b"h" * 40960)
free = []
def pieces():
    free.append(store.free())
    yield b"new"
with store.writing() as pen:
    before = store.free()
    pen.replace("x", pieces())
print(json.dumps([free[0] - before, store.read("x").decode(), store.size("x.new")]))
""",
        str(tmp_path / "flash"),
    )
    assert found[0] >= 40960 and found[1:] == ["new", 0]
