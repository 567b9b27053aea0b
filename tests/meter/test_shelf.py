"""The shelf: an instrument is taken whole or not at all, and outlives the power."""

from pathlib import Path
from typing import Any

START = """
import binascii
from meter.shelf import Shelf
from meter.store import Store
from wire import messages
from wire.errors import WireError
from quiet import Microphone

microphone = Microphone(running=True)
store = Store(values, microphone)
shelf = Shelf(store)

def facts(reeds, **others):
    told = dict(key="k1", name="Grandfather's ü~%", layout="solo 16", state="covers off", reeds=reeds,
                reference_mhz=441500, tolerance_cc=150, pass_number=2)
    told.update(others)
    return told

def reed(i):
    return dict(ordinal=reeds - 1 - i, target_uhz=130000000 + i, place=str(i // 4 + 1),
                breath=("blow", "draw")[i % 2], slide=("out", "in", "")[i % 3],
                plate="upper" if i % 4 < 2 else "lower",
                member=("base", "high")[i % 2])

def send(shelf, told, count):
    check = binascii.crc32(messages.ask("instrument", told).encode())
    shelf.begin(told)
    for i in range(count):
        shelf.add(reed(i))
        check = binascii.crc32(messages.ask("reed", reed(i)).encode(), check)
    return check

def refusal(use, *arguments):
    try:
        use(*arguments)
    except WireError as error:
        return error.code

def describe(instrument):
    if instrument is None:
        return None
    i = len(instrument) - 1
    return [instrument.key, instrument.name, instrument.layout, instrument.state, instrument.reference_mhz,
            instrument.tolerance_cc, instrument.pass_number, len(instrument), instrument.ordinal(i),
            instrument.target_uhz(i), instrument.place(i), instrument.breath(i), instrument.slide(i),
            instrument.plate(i), instrument.member(i)]
reeds = 480
"""

TOLD = ["k1", "Grandfather's ü~%", "solo 16", "covers off", 441500, 150, 2, 480]
TOLD += [0, 130000479, "120", "draw", "", "lower", "high"]  # the last reed


def test_the_largest_instrument_is_stored_and_found_again(micropython: Any, tmp_path: Path) -> None:
    empty, stored, now, later, pauses = micropython(
        START
        + """
empty = describe(shelf.current)
check = send(shelf, facts(reeds), reeds)
during = list(microphone.done)
stored = shelf.end(check)
later = describe(Shelf(store).current)
print(json.dumps([empty, stored, describe(shelf.current), later, during + microphone.done]))
""",
        str(tmp_path),
    )
    assert empty is None
    assert stored == 480
    assert now == later == TOLD
    assert pauses == ["stop", "start"], "one pause to write, none while it comes in"


def test_the_file_holds_the_bodies_of_the_messages(micropython: Any, tmp_path: Path) -> None:
    bodies = micropython(
        START
        + """
reeds = 3
check = send(shelf, facts(reeds), reeds)
shelf.end(check)
bodies = [messages.ask("instrument", facts(reeds))]
bodies += [messages.ask("reed", reed(i)) for i in range(reeds)]
print(json.dumps(bodies + ["instrument-end check=%d" % check]))
""",
        str(tmp_path),
    )
    assert (tmp_path / "shelf" / "instrument").read_text().splitlines() == bodies


def test_a_broken_sending_is_refused_and_leaves_the_old_instrument(micropython: Any, tmp_path: Path) -> None:
    found = micropython(
        START
        + """
reeds = 4
old = send(shelf, facts(4), 4)
found = [refusal(shelf.end, old ^ 1), shelf.end(old)]
found.append(refusal(shelf.end, old))
found.append(refusal(shelf.add, reed(0)))
found.append(refusal(shelf.begin, facts(4, state="under water")))
found.append(refusal(shelf.add, reed(0)))
short = send(shelf, facts(4, key="k2"), 2)
found.append(refusal(shelf.end, short))
shelf.add(reed(1))
found.append(refusal(shelf.add, reed(0)))  # only one reed may come again
shelf.add(reed(2))
found.append(refusal(shelf.add, dict(reed(0), ordinal=9)))
found.append(shelf.current.key)
found.append(Shelf(store).current.key)
print(json.dumps(found))
""",
        str(tmp_path),
    )
    assert found == ["bad", 4, "order", "order", "bad", "order", "order", "bad", "order", "k1", "k1"]


def test_one_reed_may_come_twice_more_as_the_control_reed(micropython: Any, tmp_path: Path) -> None:
    found = micropython(
        START
        + """
reeds = 3
order = (0, 1, 0, 2, 0)
check = binascii.crc32(messages.ask("instrument", facts(5)).encode())
shelf.begin(facts(5))
for i in order:
    shelf.add(reed(i))
    check = binascii.crc32(messages.ask("reed", reed(i)).encode(), check)
refused = refusal(shelf.add, reed(0))
shelf.end(check)
told = []
for instrument in (shelf.current, Shelf(store).current):
    told.append([len(instrument), instrument.reeds(), [instrument.role(i) for i in range(len(instrument))]])
print(json.dumps([refused] + told))
""",
        str(tmp_path),
    )
    assert found == ["bad", [5, 3, [0, 0, 1, 0, 2]], [5, 3, [0, 0, 1, 0, 2]]]


def test_a_stored_instrument_that_was_altered_is_not_offered(micropython: Any, tmp_path: Path) -> None:
    micropython(START + "reeds = 3\nshelf.end(send(shelf, facts(3), 3))\nprint(0)", str(tmp_path))
    file = tmp_path / "shelf" / "instrument"
    whole = file.read_bytes()
    line = whole.index(b"\n") + 1
    for altered in (
        whole.replace(b"130000001", b"130000002"),
        whole[:line] + whole[whole.index(b"\n", line) + 1 :],
        whole[:-30],
        whole[: whole.index(b"instrument-end")],
        b"\xff\xfe\n",
        b"",
        b"hello\n",
    ):
        file.write_bytes(altered)
        found = micropython(START + "print(json.dumps(describe(shelf.current)))", str(tmp_path))
        assert found is None, altered
    file.write_bytes(whole)
    assert micropython(START + "print(json.dumps(len(shelf.current)))", str(tmp_path)) == 3


def test_a_large_instrument_is_small_in_memory(micropython: Any, tmp_path: Path) -> None:
    used = micropython(
        START
        + """
import gc
check = send(shelf, facts(reeds), reeds)
shelf.end(check)
shelf = Shelf(store)  # as it is after power-on
str(list(range(100)))  # nothing of before is left on the stack
gc.collect()
before = gc.mem_free()
shelf.current = None
gc.collect()
print(json.dumps(gc.mem_free() - before))
""",
        str(tmp_path),
    )
    # 480 * 11 bytes, and 150 words and tuples of some 64 bytes on this 64-bit machine, 32 on the board.
    assert 4_000 < used < 16_000
