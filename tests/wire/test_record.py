"""Records: each comes back to the last bit, and nothing that is torn or spoilt is taken for one."""

import struct
import zlib
from collections.abc import Callable
from typing import Any

import pytest
from reedbench.firmware.wire import messages, record

Case = Callable[..., Any]
KINDS = ["survey", "take", "redo", "end", "baseband"]


def sealed(kind: int, payload: bytes, sequence: int = 3, length: int | None = None) -> list[int]:
    """A record by the words of record.py, the checksum by zlib; `length` may be a lie."""
    head = struct.pack("<BBHI", 0xA7, kind, len(payload) if length is None else length, sequence)
    return list(head + payload + struct.pack("<I", zlib.crc32(head + payload)))


def test_every_field_comes_back_at_its_extremes(case: Case) -> None:
    assert case("record_cases.not_coming_back") == []
    assert case("record_cases.one_field_apart") == []


def test_a_record_lies_as_described(case: Case) -> None:
    """Worked by hand from the table."""
    assert case("record_cases.packed", "redo", 3, "most") == sealed(3, b"\xff" * 6)
    assert case("record_cases.packed", "end", 3, "most") == sealed(4, b"\xff" * 8)
    assert case("record_cases.packed", "survey", 3, "least") == sealed(1, bytes(102))
    text = b"x" * 16 + b"x" * 40 + b"x" * 32
    assert case("record_cases.packed", "survey", 3, "most") == sealed(1, text + b"\xff" * 14)
    assert case("record_cases.unpacked", sealed(3, struct.pack("<IH", 70000, 47))) == [
        "redo",
        3,
        {"survey": 70000, "ordinal": 47},
    ]


def test_what_has_been_written_can_be_read_for_ever() -> None:
    """The layouts in struct's terms, written out once more: a changed layout must get a kind of its own."""
    layouts = {
        number: (kind, "".join(code for _, code in fields), len(fields))
        for number, (kind, fields) in record.KINDS.items()
    }
    assert layouts == {
        1: ("survey", "16s40s32sHBBIHI", 9),
        2: ("take", "IIHBBIIIIiHHhhhHhBBH32h32b", 22),
        3: ("redo", "IH", 2),
        4: ("end", "II", 2),
        5: ("take", "IIHBBIIIIiHHhhhHhBBH32h32bIIBH", 26),
        6: ("baseband", "IIHBBHHHi192h", 10),
        8: ("sitting", "16s40s32sHBBIHI", 9),
        9: ("strokes", "IHHI", 4),
        10: ("checked", "IHHHHhI", 7),
    }
    flags = "unsteady pulled short disagree clipped gap weak two-reeds wavering"
    assert " ".join(record.FLAGS) == flags


def test_sizes_that_the_memory_was_planned_for() -> None:
    """5,000 takes in 1.4 MB, and an answer to `pull` holds four."""
    take = len(
        record.pack(
            "take", 0, dict.fromkeys(dict(record.TAKE), 0) | {"trace_ccent": [0] * 32, "trace_level_qdb": [0] * 32}
        )
    )
    assert take == 169 and 4 * take <= messages.PULL_ROOM
    # What two reeds take beside that: three harmonics of 96 complex points, 16 bits each way.
    assert len(record.pack("baseband", 0, dict.fromkeys(dict(record.BASEBAND), 0) | {"points": [0] * 192})) == 418
    assert all(struct.calcsize("<" + "".join(code for _, code in fields)) <= 512 for _, fields in record.KINDS.values())


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("choice", ["least", "most", 7])
def test_no_flipped_bit_and_no_cut_passes(case: Case, kind: str, choice: str | int) -> None:
    assert case("record_cases.flips_accepted", kind, choice) == []
    assert case("record_cases.cuts_accepted", kind, choice) == []


def test_a_kind_that_only_a_newer_version_knows_keeps_its_place(case: Case) -> None:
    for kind in (0, 99, 200, 255):
        for payload in (b"", b"whatever", bytes(512)):
            data = sealed(kind, payload, sequence=0xFFFFFFFF)
            assert case("record_cases.unpacked", data) == ["unknown", 0xFFFFFFFF, {}]
            assert case("record_cases.measured", data, 0) == len(data)


@pytest.mark.parametrize(
    "data",
    [
        [],
        [0xA7],
        [0xA7] * 12,
        [0] * 200,
        sealed(3, bytes(5)),  # sound, but not a redo's length
        sealed(3, bytes(7)),
        sealed(2, b""),
        sealed(9, bytes(513)),  # longer than any record may be
        sealed(3, bytes(6), length=0),
        sealed(3, bytes(6), length=5),
        sealed(3, bytes(6), length=7),
        sealed(3, bytes(6), length=65535),
        [0xA6, *sealed(3, bytes(6))[1:]],
        sealed(1, b"\xff" + bytes(101)),  # a text that is none
        sealed(1, b"x" * 15 + b"\xc3" + bytes(86)),  # a text that ends inside a character
    ],
)
def test_what_is_no_record_is_refused(case: Case, data: list[int]) -> None:
    assert case("record_cases.unpacked", data) == "bad"


def test_a_place_at_or_past_the_end_holds_no_record(case: Case) -> None:
    data = sealed(3, bytes(6))
    assert [case("record_cases.measured", data, at) for at in (0, 1, len(data) - 1, len(data), len(data) + 5)] == [
        len(data),
        *[0] * 4,
    ]


@pytest.mark.parametrize("seed", [1, 2, 3])
def test_noise_holds_no_record(case: Case, seed: int) -> None:
    assert case("record_cases.found_in_noise", seed, 5000) == []


@pytest.mark.parametrize(
    "text", ["", "tenor", "\u00e4\u00f6\u00fc", "\u65e5\u672c", "a\U0001f600b\u0301", "\U0001f600" * 3]
)
def test_text_is_cut_between_characters(case: Case, text: str) -> None:
    for longest, kept in enumerate(case("record_cases.clipped", text)):
        whole = [text[:count] for count in range(len(text) + 1) if len(text[:count].encode()) <= longest]
        assert bytes(kept).decode() == whole[-1]


def test_states_of_sounding_in_words_and_numbers(case: Case) -> None:
    pairs = case("record_cases.state_bytes")
    assert len(pairs) == 10
    assert all(words == back for words, back in pairs)
    # By hand: state in the low four bits, what moves the air in the high four.
    assert record.state_byte("assembled") == 0
    assert record.state_byte("plate on bench, bellows") == 0x12
    assert record.state_byte("covers off, mouth") == 1
    assert record.state_byte("plucked") == 3


@pytest.mark.parametrize("byte", [0x03, 0x13, 0x23])
def test_a_plucked_reed_has_no_wind(case: Case, byte: int) -> None:
    assert case("record_cases.state_words", byte) == "plucked"


@pytest.mark.parametrize(
    "words",
    [
        "plucked, mouth",
        "plucked, bellows",
        "",
        "Assembled",
        "assembled,bellows",
        "assembled, wind",
        ", bellows",
        "x" * 500,
    ],
)
def test_states_that_there_are_not(case: Case, words: str) -> None:
    code, text = case("record_cases.state_refused", words)
    assert code == "bad" and len(text) < 100


@pytest.mark.parametrize("byte", [4, 15, 0x30, 0xFF])
def test_states_of_a_newer_version_keep_their_number(case: Case, byte: int) -> None:
    assert case("record_cases.state_words", byte) == f"state {byte}"


def test_flags_come_back(case: Case) -> None:
    assert case("record_cases.flags_and_back") == [[], True]


def test_which_takes_are_trusted(case: Case) -> None:
    """A figure, and nothing against it but a wavering level, which does not move the pitch."""
    assert case("record_cases.trusted", [], 440_000_000) is True
    assert case("record_cases.trusted", ["wavering"], 1) is True
    assert case("record_cases.trusted", [], 0) is False
    for flag in set(record.FLAGS) - {"wavering"}:
        assert case("record_cases.trusted", [flag], 440_000_000) is False
        assert case("record_cases.trusted", [flag, "wavering"], 440_000_000) is False
    assert set(record.NO_FIGURE) < set(record.FLAGS)
    assert not record.trusted(1 << 15, 440_000_000), "a flag of a newer version speaks against the take"
