"""Fields: bounds are kept in both directions, and no text, however hostile, does more than be text."""

import base64
from collections.abc import Callable
from typing import Any

import pytest

Case = Callable[..., Any]

NUMBER = ["Number", "count", -5, 4294967295]
TEXT = ["Text", "name", 8]
BLOB = ["Blob", "records", 640]


@pytest.mark.parametrize("value", [-5, -1, 0, 1, 4294967295])
def test_numbers_within_their_bounds(case: Case, value: int) -> None:
    assert case("fields_cases.written", NUMBER, value) == str(value)
    assert case("fields_cases.read", NUMBER, str(value)) == value


@pytest.mark.parametrize("value", [-6, 4294967296, 10**30, -(10**30), 1.0, 1e300, None, "1", [], [1]])
def test_what_is_no_number_within_the_bounds_is_not_written(case: Case, value: Any) -> None:
    assert case("fields_cases.written", NUMBER, value) == ["bad"]


@pytest.mark.parametrize(
    "word",
    [
        *("", "-", "--1", "+1", " 1", "1 ", "1_0", "1.0", "1e3", "0x10", "1,0", "-6", "4294967296", "9" * 12, "0" * 13),
        *("9" * 900, "nan", "inf", "True", "None", "1\n", "\t1", "~31"),
        *("\u0663", "\u00b2", "\uff11"),  # digits to str.isdigit, of other scripts
    ],
)
def test_words_that_are_no_number_within_the_bounds(case: Case, word: str) -> None:
    assert case("fields_cases.read", NUMBER, word) == {"refused": "bad"}


def test_a_number_says_what_it_may_be(case: Case) -> None:
    from wire.fields import Number

    assert Number(*NUMBER[1:]).kind == "whole number -5 to 4294967295"


HOSTILE = [
    *("", " ", "~", "~~", "~41", "%41", "%", "=", "a=b", "a b", '"', "'", "\\", "<script>", "&amp;", "../../etc"),
    *(
        "\x00",
        "\x00\x00",
        "\x03",
        "\x04",
        "\r\n",
        "\n*",
        "\x1b[2J",
        "\x7f",
        "\x80",
        "\x9b",
        "\u202e",
        "\u200b",
        "\ufeff",
    ),
    *("\u00e4\u00f6\u00fc", "\u266f", "\u65e5\u672c", "\U0001f600", "e\u0301", "\uffff", "\U0010ffff", "code=bad"),
]


def test_any_text_comes_back_and_is_plain_on_the_way(case: Case) -> None:
    assert case("fields_cases.texts_changed", HOSTILE, 32) == []


def test_every_character_comes_back(case: Case) -> None:
    assert case("fields_cases.characters_changed", 0, 0x800, 1) == []
    assert case("fields_cases.characters_changed", 0x800, 0x110000, 257) == []


@pytest.mark.parametrize(
    ("text", "fits"),
    [
        ("12345678", True),
        ("123456789", False),
        ("\u00e4" * 4, True),
        ("\u00e4" * 4 + "a", False),
        ("\U0001f600" * 3, False),
    ],
)
def test_text_is_bounded_in_bytes(case: Case, text: str, fits: bool) -> None:
    """Whether it is being written or read: the other side may not have kept the rule."""
    word = "".join(f"~{byte:02x}" for byte in text.encode())
    assert (case("fields_cases.written", TEXT, text) != ["bad"]) == fits
    assert case("fields_cases.read", TEXT, word) == (text if fits else {"refused": "bad"})


@pytest.mark.parametrize(
    "word",
    [
        *("~", "ab~", "~4", "ab~4", "~zz", "~4g", "~ 1", "~+1", "~-1", "~0x", "~~41", "~4~1"),
        *("~80", "~ff", "~fe", "~c3", "~e2~82", "~f0~9f~98", "~c3a", "~e2~82a"),  # not UTF-8, or only begun
    ],
)
def test_words_that_are_no_text(case: Case, word: str) -> None:
    assert case("fields_cases.read", TEXT, word) == {"refused": "bad"}


def test_text_that_utf_8_cannot_hold_is_refused_on_the_host() -> None:
    """Lone surrogates, overlong forms and points past the last one; MicroPython passes these on as they are."""
    import fields_cases

    assert fields_cases.written(TEXT, "a\ud800") == ["bad"]
    for word in ("~c0~80", "~ed~a0~80", "~f5~80~80~80", "~f4~90~80~80"):
        assert fields_cases.read(TEXT, word) == {"refused": "bad"}


def test_bytes_come_back_at_every_length(case: Case) -> None:
    assert case("fields_cases.blobs_changed", 640) == []


@pytest.mark.parametrize("length", [0, 1, 2, 3, 4, 639, 640])
def test_bytes_are_written_in_base64(case: Case, length: int) -> None:
    """RFC 4648, section 4, by Python's own base64."""
    value = bytes(at * 31 + 200 & 255 for at in range(length))
    assert case("fields_cases.written", BLOB, list(value)) == base64.b64encode(value).decode()
    assert case("fields_cases.read", BLOB, base64.b64encode(value).decode()) == list(value)


def test_too_many_bytes_are_refused(case: Case) -> None:
    assert case("fields_cases.written", BLOB, [0] * 641) == ["bad"]
    assert case("fields_cases.read", BLOB, base64.b64encode(bytes(641)).decode()) == {"refused": "bad"}


@pytest.mark.parametrize(
    "word",
    [
        *("Q", "QQ", "QQ=", "QQQ", "=", "====", "QQ===", "QQ==QQ==", "QQ==x", "x" * 5),
        *(
            "QR==",
            "QQF=",
        ),  # the same bytes written another way: bits that must be zero are not
        *("QQ==\n", " QQ==", "Q Q==", "QQ-_", "Q*==", "QQ\x00=", "\u00e9"),
    ],
)
def test_words_that_are_no_base64(case: Case, word: str) -> None:
    assert case("fields_cases.read", BLOB, word) == {"refused": "bad"}
