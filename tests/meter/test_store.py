"""The store: what is written is there, and never with the microphone running."""

from pathlib import Path

START = """
import os
from meter.store import Store
from quiet import Microphone
microphone = Microphone(running=True)
store = Store(values, microphone)
"""


def test_what_is_written_can_be_read(micropython, tmp_path: Path) -> None:
    assert micropython(
        START
        + """
with store.writing() as pen:
    pen.folder("a")
    pen.folder("a")
    pen.append("a/x", b"one")
    pen.append("a/x", b"two")
    pen.replace("a/y", b"old")
    pen.replace("a/y", (b"n", b"ew"))
    pen.replace("a/z", b"gone")
    pen.remove("a/z")
    pen.cut("a/x", 4)
print(json.dumps([store.names("a"), store.read("a/x").decode(), store.read("a/y").decode(), store.size("a/x"),
                  store.size("none"), store.read("none").decode(), store.names("none"), store.free() > 0]))
""",
        str(tmp_path),
    ) == [["x", "y"], "onet", "new", 4, 0, "", [], True]


def test_a_cut_longer_than_one_piece_keeps_just_that_much(micropython, tmp_path: Path) -> None:
    content = bytes(range(256)) * 9
    (tmp_path / "x").write_bytes(content)
    micropython(START + 'with store.writing() as pen: pen.cut("x", 1025)\nprint(0)', str(tmp_path))
    assert (tmp_path / "x").read_bytes() == content[:1025]


def test_the_microphone_stands_still_while_the_pen_is_down(micropython, tmp_path: Path) -> None:
    assert micropython(
        START
        + """
with store.writing() as pen:
    during = microphone.running
after = microphone.running
try:
    with store.writing() as pen:
        raise KeyError()
except KeyError:
    pass
microphone.stop()
with store.writing() as pen:
    pass
print(json.dumps([during, after, microphone.running, microphone.done]))
""",
        str(tmp_path),
    ) == [False, True, False, ["stop", "start", "stop", "start", "stop"]]


def test_a_pen_that_was_put_away_no_longer_writes(micropython, tmp_path: Path) -> None:
    assert micropython(
        START
        + """
with store.writing() as pen:
    pen.append("x", b"x")
refused = 0
for use in (lambda: pen.append("x", b"y"), lambda: pen.replace("x", b"y"), lambda: pen.remove("x"),
            lambda: pen.cut("x", 0), lambda: pen.folder("f")):
    try:
        use()
    except RuntimeError:
        refused += 1
print(json.dumps([refused, store.read("x").decode()]))
""",
        str(tmp_path),
    ) == [5, "x"]


def test_a_failing_file_system_is_refused_in_words(micropython, tmp_path: Path) -> None:
    assert micropython(
        START
        + """
from wire.errors import WireError
codes = []
def attempt(use):
    try:
        use()
    except WireError as error:
        codes.append(error.code)
def write():
    with store.writing() as pen:
        pen.append("no/such/folder", b"x")
def read():
    with store.reading("nothing"):
        pass
def fill():
    with store.writing() as pen:
        raise OSError(28)
attempt(write)
attempt(read)
attempt(fill)
print(json.dumps([codes, microphone.running]))
""",
        str(tmp_path),
    ) == [["store", "store", "full"], True]
