"""What the divider of the microphone's clock makes of the processor's, for both boards."""

from collections.abc import Callable
from typing import Any

import pytest

SCRIPT = """
class Machine:
    I2S = Pin = None
sys.modules["machine"] = Machine
from boards import pico
from boards.pico import microphone
print(json.dumps([microphone.rate_error_ppb(hz) for hz in values]))
"""


@pytest.mark.parametrize("hz", [125_000_000, 150_000_000], ids=["Pico", "Pico 2"])
def test_the_rate_is_exact_at_the_clock_of_a_board(micropython: Callable[..., Any], hz: int) -> None:
    assert micropython(SCRIPT, [hz]) == [0]


def test_another_clock_is_allowed_for(micropython: Callable[..., Any]) -> None:
    """128 steps a frame at 16 kHz and 1/256 of a divider: exact at multiples of 8 kHz, 10 ppm off 1 kHz above one."""
    assert micropython(SCRIPT, [48_000_000, 133_000_000, 100_001_000]) == [0, 0, 10_000]
