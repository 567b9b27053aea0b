"""Messages: the table is the whole truth about them, and nothing beside it passes."""

from collections.abc import Callable
from typing import Any

import pytest
from reedbench.firmware.wire import explained, messages, record

Case = Callable[..., Any]


def test_every_message_comes_back_and_fits_a_line(case: Case) -> None:
    """At both ends of what every field may hold, texts of the signs that take most room."""
    assert case("messages_cases.not_coming_back") == []
    assert sorted(case("messages_cases.names")) == sorted(messages.MESSAGES)


def test_fields_missing_doubled_added_renamed_or_out_of_place_are_refused(case: Case) -> None:
    assert case("messages_cases.accepted_though_damaged") == []


def test_values_that_are_not_just_the_fields_are_not_written(case: Case) -> None:
    assert case("messages_cases.written_though_incomplete") == []


@pytest.mark.parametrize(
    "body", ["", " ", "dance", "HELLO", "hello=1", " status", "__init__", "ok", "\u00e4", "status\n"]
)
def test_unknown_requests(case: Case, body: str) -> None:
    assert case("messages_cases.read_asked", body) == "unknown"


# Worked by hand from the table.
SPOKEN = [
    ("status", "status", {}),
    ("leave", "leave", {}),
    ("pull", "pull from_seq=17 room=640", {"from_seq": 17, "room": 640}),
    ("hello", "hello protocol=1 ledger=a~20b", {"protocol": 1, "ledger": "a b"}),
    (
        "reed",
        "reed ordinal=9 target_uhz=311126984 place=3 breath=draw slide=in plate= member=M~2b",
        {
            "ordinal": 9,
            "target_uhz": 311126984,
            "place": "3",
            "breath": "draw",
            "slide": "in",
            "plate": "",
            "member": "M+",
        },
    ),
]


@pytest.mark.parametrize(("name", "body", "values"), SPOKEN)
def test_requests_as_they_stand_on_the_line(case: Case, name: str, body: str, values: dict[str, Any]) -> None:
    assert case("messages_cases.read_asked", body) == [name, values]
    assert messages.ask(name, values) == body


@pytest.mark.parametrize(
    ("name", "body", "told"),
    [
        ("acknowledge", "ok freed=158", {"freed": 158}),
        ("leave", "ok", {}),
        ("acknowledge", "no code=full text=the~20memory~20is~20full", ["full", "the memory is full"]),
        ("acknowledge", "ok", ["bad", "wrong number of fields"]),
        ("acknowledge", "", ["bad", "the answer is neither ok nor no"]),
        ("acknowledge", "OK freed=1", ["bad", "the answer is neither ok nor no"]),
        ("acknowledge", "no", ["bad", "wrong number of fields"]),
        ("acknowledge", "no text=x code=full", ["bad", "code is missing"]),
        ("acknowledge", "acknowledge ledger=x before_seq=1", ["bad", "the answer is neither ok nor no"]),
    ],
)
def test_answers_as_they_stand_on_the_line(case: Case, name: str, body: str, told: Any) -> None:
    assert case("messages_cases.read_answered", name, body) == told


def test_every_refusal_arrives_with_its_words(case: Case) -> None:
    assert case("messages_cases.refusals_lost") == []


@pytest.mark.parametrize("sign", ["x", "\u00e4", "\u65e5", "\U0001f600", "\x00"])
def test_a_refusal_can_always_be_said(case: Case, sign: str) -> None:
    """A meter that could not say why it refuses would be silent; too many words are cut."""
    code, text, length = case("messages_cases.refusal", "bad", sign * 300)
    assert code == "bad"
    assert text and set(text) == {sign}
    assert length < 1000


def test_every_request_is_explained_and_nothing_else() -> None:
    assert list(explained.REQUESTS) == list(messages.MESSAGES)


def test_every_field_is_explained_and_nothing_else() -> None:
    asked = {(name, field.name) for name in messages.MESSAGES for field in messages.MESSAGES[name].ask}
    answered = {(name, field.name) for name in messages.MESSAGES for field in messages.MESSAGES[name].answer}
    recorded = {(kind, name) for kind, fields in record.KINDS.values() for name, _ in fields}
    assert set(explained.ASKED) == asked
    assert set(explained.ANSWERED) == answered
    assert set(explained.RECORDED) == recorded


def test_explanations_say_something() -> None:
    for words in (explained.REQUESTS, explained.ASKED, explained.ANSWERED, explained.RECORDED):
        for name, text in words.items():
            assert len(text.split()) >= 2 and text == text.strip() and "\n" not in text, name


def test_every_message_is_from_a_version_that_there_is() -> None:
    for message in map(messages.MESSAGES.__getitem__, messages.MESSAGES):
        assert 1 <= message.since <= messages.PROTOCOL
