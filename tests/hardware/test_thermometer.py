"""The thermometer's driver against register values that the data sheets give for temperatures."""

from collections.abc import Callable
from typing import Any

import pytest

PARTS = """
class I2C:
    def __init__(self, *args, **more):
        pass
    def readfrom_mem(self, address, register, count):
        word = values["words"].get("%d %d" % (address, register))
        if word is None:
            raise OSError(5)
        return bytes((word >> 8, word & 255))[:count]
class Machine:
    pass
machine = Machine()
machine.I2C = I2C
machine.Pin = lambda number: number
sys.modules["machine"] = machine
"""
READ = """
from boards.pico import thermometer
kind = thermometer.find()
found = []
for word in values["held"]:
    if kind:
        values["words"]["%d %d" % (kind[0], kind[3])] = word
    found.append(thermometer.read(kind) if kind else "none")
print(json.dumps(found))
"""
FALLS_SILENT = """
from boards.pico import power
found = [power.temperature_dc()]
values["words"].clear()
found.append(power.temperature_dc())
print(json.dumps(found))
"""
# TMP117 data sheet, table 7-1: what the register holds at a temperature. 0x8000 until the first conversion.
TMP117 = {0x7FFF: 2560, 0x3200: 1000, 0x0C80: 250, 0x0080: 10, 0x0001: 0, 0x0000: 0, 0xFF80: -10, 0xF380: -250}
# MCP9808 data sheet, section 5.1.3: sixteenths of a degree in twelve bits, bit 12 the sign, above it the alarms.
MCP9808 = {0x0194: 253, 0x1FF0: -10, 0x0000: 0, 0xC194: 253, 0x0640: 1000, 0x1E70: -250}


@pytest.mark.parametrize(
    ("names", "table"),
    [({"72 15": 0x0117}, TMP117), ({"72 15": 0x2117}, TMP117), ({"24 6": 0x0054}, MCP9808)],
    ids=["TMP117", "TMP117, a later revision", "MCP9808"],
)
def test_what_it_holds_is_tenths_of_a_degree(
    micropython: Callable[..., Any], names: dict[str, int], table: dict[int, int]
) -> None:
    found = micropython(PARTS + READ, {"words": names, "held": [*table]})
    assert found == [*table.values()]


def test_a_thermometer_that_has_not_measured_yet_says_nothing(micropython: Callable[..., Any]) -> None:
    assert micropython(PARTS + READ, {"words": {"72 15": 0x0117}, "held": [0x8000]}) == [None]


@pytest.mark.parametrize("words", [{}, {"72 15": 0x5000}, {"24 6": 0xFFFF}])
def test_what_is_no_thermometer_is_left_alone(micropython: Callable[..., Any], words: dict[str, int]) -> None:
    """Nothing there, another chip at one of the addresses, a line that hangs."""
    assert micropython(PARTS + READ, {"words": words, "held": [0]}) == ["none"]


def test_one_that_falls_silent_is_not_replaced_by_the_chips_own(micropython: Callable[..., Any]) -> None:
    script = PARTS.replace("class Machine:", "class Machine:\n    ADC = None") + FALLS_SILENT
    assert micropython(script, {"words": {"72 15": 0x0117, "72 0": 0x0C80}}) == [250, None]
