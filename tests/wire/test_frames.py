"""Lines: what is packed comes back, and nothing that was spoilt on the way is believed."""

import tracemalloc
import zlib
from collections.abc import Callable
from typing import Any

import pytest

Case = Callable[..., Any]


def line(number: int, body: str) -> str:
    """A line by the protocol's own words, the checksum by zlib."""
    head = f"%{number:04x} {body}"
    return f"{head} *{zlib.crc32(head.encode()):08x}\n"


def test_the_checksum_is_that_of_ieee_802_3(case: Case) -> None:
    # Check value of CRC-32/ISO-HDLC in the catalogue of parametrised CRC algorithms (reveng).
    assert case("frames_cases.crc32", "123456789") == 0xCBF43926
    assert case("frames_cases.crc32", "") == 0


@pytest.mark.parametrize("number", [0, 1, 0x0A3F, 0xFFFF])
@pytest.mark.parametrize("body", ["", "status", "pull from_seq=17 room=640", "~%*\\ =", "x" * 1007])
def test_a_line_is_made_and_read_as_described(case: Case, number: int, body: str) -> None:
    assert case("frames_cases.packed", number, body) == line(number, body)
    for end in ("", "\n", "\r\n"):
        assert case("frames_cases.unpacked", line(number, body)[:-1] + end) == [number, body]


def test_numbers_begin_again_after_65535(case: Case) -> None:
    assert case("frames_cases.packed", 0x10000 + 5, "status") == line(5, "status")


def test_a_line_that_would_be_too_long_is_not_made(case: Case) -> None:
    assert len(line(0, "x" * 1007)) == 1024
    assert case("frames_cases.packed", 0, "x" * 1008) == "large"


@pytest.mark.parametrize("body", ["caf\u00e9", "a\tb", "a\x03b", "a\x7fb", "a\x00b", "a\nb"])
def test_what_is_not_printable_never_arrives(case: Case, body: str) -> None:
    assert case("frames_cases.unpacked", line(1, body)) == "bad"


@pytest.mark.parametrize(
    "wrong",
    [
        "",
        "\n",
        "%",
        "status",
        line(1, "x").replace("%", " "),
        line(1, "x").replace(" *", "  "),
        line(10, "x").upper(),
        line(1, "x") + "x",
        " " + line(1, "x"),
        line(1, "x").replace("\n", " \n"),
        line(1, "x") * 2,
        line(0, "x" * 1008),
        # A right checksum over a number that is none: int() would take each of these.
        *(
            f"{head} *{zlib.crc32(head.encode()):08x}"
            for head in ("%+001 x", "%-001 x", "% 001 x", "%0x01 x", "%1_00 x", "%000A x")
        ),
    ],
)
def test_what_is_not_a_line_is_refused(case: Case, wrong: str) -> None:
    assert case("frames_cases.unpacked", wrong) == "bad"


@pytest.mark.parametrize(("number", "body"), [(0, ""), (0xABCD, "pull from_seq=17 room=640"), (7, "ok freed=0")])
def test_no_single_changed_byte_passes(case: Case, number: int, body: str) -> None:
    assert case("frames_cases.flips_accepted", number, body) == []


@pytest.mark.parametrize(("number", "body"), [(0, ""), (0xABCD, "pull from_seq=17 room=640"), (7, "x" * 900)])
def test_no_cut_line_passes(case: Case, number: int, body: str) -> None:
    assert case("frames_cases.cuts_accepted", number, body) == []


def test_lines_may_come_in_any_pieces(case: Case) -> None:
    bodies = ["status", "", "x" * 1007, "pull from_seq=0 room=64"]
    stream = "".join(line(number, body) for number, body in enumerate(bodies))
    wanted = [line(number, body)[:-1] for number, body in enumerate(bodies)]
    sizes = [1, 2, 3, 7, 16, 17, 63, 64, 512, 1023, 1024, 1025, len(stream)]
    assert case("frames_cases.read_in_pieces", stream, sizes) == [wanted] * len(sizes)


def test_what_precedes_a_line_and_a_return_at_its_end_are_dropped(case: Case) -> None:
    good = line(8, "status")
    stream = ">>> \r\n" + good.replace("\n", "\r\n") + "noise %% 5%" + good + "\n\n\r\n" + "no start sign\n" + good
    assert case("frames_cases.read_in_pieces", stream, [1, 1000]) == [[good[:-1]] * 3] * 2


@pytest.mark.parametrize("ended", [False, True])
def test_a_flood_is_dropped_and_the_next_line_is_heard(case: Case, ended: bool) -> None:
    good, before, dropped = case("frames_cases.read_after_garbage", 200, 5000, ended)
    assert (good, before) == ([[7, "status"]], 0)
    assert dropped == (200 if ended else 1)


def test_overlong_lines_are_counted_and_others_are_not(case: Case) -> None:
    assert case("frames_cases.dropped", [1, 1023, 1024]) == 0
    assert case("frames_cases.dropped", [1025, 10, 5000, 3]) == 2


@pytest.mark.parametrize("ended", [False, True])
def test_a_flood_takes_no_memory_on_the_meter(micropython: Case, ended: bool) -> None:
    """Five megabytes through a heap of 48 kB, which the code itself takes half of."""
    script = f"import frames_cases\nprint(json.dumps(frames_cases.read_after_garbage(1000, 5000, {ended})[0]))"
    assert micropython(script, heap="48k") == [[7, "status"]]


@pytest.mark.parametrize("ended", [False, True])
def test_a_flood_takes_no_memory_on_the_host(ended: bool) -> None:
    import frames_cases

    tracemalloc.start()
    try:
        frames_cases.read_after_garbage(1000, 5000, ended)
        _, most = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert most < 40_000  # a line, the piece that came, and copies of both
