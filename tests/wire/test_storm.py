"""A storm of random and mutated lines: WireError and nothing else, nothing spoilt believed, no memory kept."""

import sys
from collections.abc import Callable
from typing import Any

import pytest

Case = Callable[..., Any]
CHUNK = 10_000


def judge(result: list[Any], lines: int) -> None:
    found, refused, taken, read = result
    assert found == [], "tests/wire/storm.py: look(number) shows the line"
    assert refused + taken == lines
    # A storm that only blows in one direction would show nothing.
    assert taken > lines // 10 and refused > lines // 3 and read > lines // 2


def test_a_short_storm(case: Case) -> None:
    judge(case("storm.storm", 0, 1500), 1500)


@pytest.mark.exhaustive
@pytest.mark.parametrize("part", range(10))
def test_a_million_lines_on_the_host(part: int, tally: Callable[[int, str], None]) -> None:
    import storm

    first, blocks = 100_000 * part, []
    for start in range(first, first + 100_000, CHUNK):
        judge(storm.storm(start, start + CHUNK), CHUNK)
        blocks.append(sys.getallocatedblocks())
    assert max(blocks[1:]) < blocks[0] + 2000, "memory grows with the lines that have come"
    tally(100_000, "random and mutated lines over the wire code on this Python")


@pytest.mark.exhaustive
def test_fifty_thousand_lines_on_the_meter(micropython: Case, tally: Callable[[int, str], None]) -> None:
    """In a heap of 96 kB, where what is kept of a thousandth of the lines would not fit.

    The storm over the whole firmware (tests/link) sends a million through the same code.
    """
    lines = 50_000
    judge(micropython(f"import storm\nprint(json.dumps(storm.storm(0, {lines}, 2)))", heap="96k"), lines)
    tally(lines, "random and mutated lines over the wire code on MicroPython")
