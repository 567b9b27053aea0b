"""The wiring against the data sheets: pads exist, are not doubled, suit what they do, and nothing is shorted."""

import runpy
from collections import Counter
from typing import Any

import pytest
from plan import PLAN, ROOT, named, nets

PINS = runpy.run_path(str(ROOT / "firmware" / "boards" / "pico" / "pins.py"))

# RP2040 data sheet, section 1.4.3 "GPIO Functions" (again in 2.19.2), function F3: which wire of which I2C controller a
# GPIO can be. From memory; 0 to 24 read again in a copy of that table (vxj9800.github.io/mae3185Notes, chapter 4).
# Functions F6 and F7 reach both PIO blocks, and so the microphone, from every GPIO.
I2C = {
    0: (0, "SDA"), 1: (0, "SCL"), 2: (1, "SDA"), 3: (1, "SCL"), 4: (0, "SDA"), 5: (0, "SCL"), 6: (1, "SDA"),
    7: (1, "SCL"), 8: (0, "SDA"), 9: (0, "SCL"), 10: (1, "SDA"), 11: (1, "SCL"), 12: (0, "SDA"), 13: (0, "SCL"),
    14: (1, "SDA"), 15: (1, "SCL"), 16: (0, "SDA"), 17: (0, "SCL"), 18: (1, "SDA"), 19: (1, "SCL"), 20: (0, "SDA"),
    21: (0, "SCL"), 22: (1, "SDA"), 23: (1, "SCL"), 24: (0, "SDA"), 25: (0, "SCL"), 26: (1, "SDA"), 27: (1, "SCL"),
    28: (0, "SDA"), 29: (0, "SCL"),
}  # fmt: skip
ADC = {26: 0, 27: 1, 28: 2, 29: 3}  # channel of the converter; section 4.9; channel 4 is the sensor inside
# From memory of the Raspberry Pi Pico data sheet, figure "pinout"; the Pico 2 has the same pads.
GPIO_PADS = {
    0: 1, 1: 2, 2: 4, 3: 5, 4: 6, 5: 7, 6: 9, 7: 10, 8: 11, 9: 12, 10: 14, 11: 15, 12: 16, 13: 17, 14: 19, 15: 20,
    16: 21, 17: 22, 18: 24, 19: 25, 20: 26, 21: 27, 22: 29, 26: 31, 27: 32, 28: 34,
}  # fmt: skip
OTHER_PADS = {
    "GND": (3, 8, 13, 18, 23, 28, 38), "AGND": (33,), "RUN": (30,), "ADC_VREF": (35,), "3V3": (36,), "3V3_EN": (37,),
    "VSYS": (39,), "VBUS": (40,),
}  # fmt: skip
INSIDE = {"SUPPLY": 29, "USB_POWER": 24}  # the same data sheet, section 2.1: GPIO29 is VSYS/3, GPIO24 is VBUS sense
DRIVEN = ("RUN", "3V3_EN", "ADC_VREF", "AGND", "VBUS")  # pads that nothing of ours may touch


def test_the_board_has_the_pads_of_its_data_sheet() -> None:
    sheet = {number: f"GP{gpio}" for gpio, number in GPIO_PADS.items()}
    sheet |= {number: name for name, numbers in OTHER_PADS.items() for number in numbers}
    assert dict(enumerate(PLAN.pads, start=1)) == sheet


@pytest.mark.parametrize("wire", PLAN.wires, ids=lambda wire: str(wire.number))
def test_a_wire_ends_at_pads_that_are_there(wire: Any) -> None:
    for pad in (wire.start, wire.end):
        if pad.owner == "board":
            assert 1 <= int(pad.name) <= len(PLAN.pads)
            assert PLAN.board_pad(pad) not in DRIVEN
        else:
            assert pad.name in PLAN.part(pad.owner).pads, f"{pad} is no pad of it"


def test_every_pad_of_every_part_has_a_wire() -> None:
    wired = {(pad.owner, pad.name) for wire in PLAN.wires for pad in (wire.start, wire.end)}
    for part in PLAN.parts:
        for owner in part.used:
            assert {(owner, pad) for pad in part.pads} <= wired


def test_no_gpio_has_two_wires_and_each_has_one_use() -> None:
    ends = Counter(pad.name for wire in PLAN.wires for pad in (wire.start, wire.end) if pad.owner == "board")
    gpio = {number: count for number, count in ends.items() if PLAN.pads[int(number) - 1].startswith("GP")}
    assert set(gpio.values()) == {1}
    assert all(bool(wire.signal) == (named(wire.end).startswith("board.GP")) for wire in PLAN.wires)
    pins = [value for name, value in PINS.items() if name.startswith(("MICROPHONE_", "KEY_"))]
    pins += [PINS["DISPLAY_DATA"], PINS["DISPLAY_CLOCK"]]
    assert sorted(GPIO_PADS[pin] for pin in pins) == sorted(int(number) for number in gpio)


def test_pins_suit_their_peripherals() -> None:
    assert I2C[PINS["DISPLAY_DATA"]] == (PINS["DISPLAY_CONTROLLER"], "SDA")
    assert I2C[PINS["DISPLAY_CLOCK"]] == (PINS["DISPLAY_CONTROLLER"], "SCL")
    # MicroPython, ports/rp2/machine_i2s.c: "invalid ws (must be sck+1)".
    assert PINS["MICROPHONE_SELECT"] == PINS["MICROPHONE_CLOCK"] + 1
    assert ADC[PINS["SUPPLY"]] == 3 and PINS["TEMPERATURE_CHANNEL"] == 4
    assert {name: PINS[name] for name in INSIDE} == INSIDE


def test_each_signal_arrives_where_its_name_says() -> None:
    arrives = {
        "MICROPHONE_CLOCK": "microphone.SCK",
        "MICROPHONE_SELECT": "microphone.WS",
        "MICROPHONE_DATA": "microphone.SD",
        "DISPLAY_DATA": "display.SDA",
        "DISPLAY_CLOCK": "display.SCL",
        "KEY_UP": "key_up.1",
        "KEY_DOWN": "key_down.1",
        "KEY_DO": "key_do.1",
    }
    for name, pad in arrives.items():
        [net] = [net for net in nets() if f"board.GP{PINS[name]}" in net]
        assert pad in net and {owner for owner in net if owner.startswith("board.")} == {f"board.GP{PINS[name]}"}


def test_supplies_reach_everything_and_never_meet() -> None:
    [ground] = [net for net in nets() if "board.GND" in net]
    [supply] = [net for net in nets() if "board.3V3" in net]
    assert ground == {
        "board.GND", "display.GND", "microphone.GND", "microphone.L/R", "key_up.2", "key_down.2", "key_do.2",
        "thermometer.GND", "charger.OUT-",
    }  # fmt: skip
    assert supply == {"board.3V3", "display.VCC", "microphone.VDD", "thermometer.VCC"}
    chain = [{"board.VSYS", "diode.K"}, {"diode.A", "switch.2"}, {"switch.1", "charger.OUT+"}]
    for net in [*chain, {"charger.B+", "cell.+"}, {"charger.B-", "cell.-"}]:
        assert net in nets()


def test_the_cell_comes_last() -> None:
    assert PLAN.steps[-1] == "cell"
    assert [wire.step for wire in PLAN.wires] == sorted((wire.step for wire in PLAN.wires), key=PLAN.steps.index)


def test_every_colour_but_black_and_red_stands_for_one_signal() -> None:
    for wire in PLAN.wires:
        power = named(wire.start) if wire.colour in ("black", "red") else ""
        if power:
            [net] = [net for net in nets() if power in net]
            minus = "board.GND" in net or "cell.-" in net
            assert minus == (wire.colour == "black"), f"wire {wire.number} is {wire.colour}"
