"""The Pico's pins: usable for what they do, and the same in the wiring table.

Which pins suit a peripheral is from the RP2040 data sheet, section 1.4.3 (GPIO functions); the board's pin
numbers are from the Pico's pinout. Both from memory of those documents.
"""

import re
import runpy
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PINS = runpy.run_path(str(ROOT / "firmware" / "boards" / "pico" / "pins.py"))
WIRED = {
    "DISPLAY_DATA": "display SDA",
    "DISPLAY_CLOCK": "display SCL",
    "KEY_UP": 'key "up"',
    "KEY_DOWN": 'key "down"',
    "KEY_DO": 'key "do"',
    "MICROPHONE_CLOCK": "bit clock",
    "MICROPHONE_SELECT": "word select",
    "MICROPHONE_DATA": "microphone data",
}
GROUNDS = (3, 8, 13, 18)  # on the left side of the board, between the GPIO


def board_pin(gpio):
    """Number on the board of a GPIO from 0 to 15: they go down the left side, with grounds between."""
    return [pin for pin in range(1, 21) if pin not in GROUNDS][gpio]


def test_no_pin_is_used_twice():
    used = [PINS[name] for name in WIRED] + [PINS["SUPPLY"], PINS["USB_POWER"]]
    assert len(set(used)) == len(used)


def test_pins_suit_their_peripherals():
    assert PINS["MICROPHONE_SELECT"] == PINS["MICROPHONE_CLOCK"] + 1
    assert PINS["DISPLAY_DATA"] % 4 == 2 * PINS["DISPLAY_CONTROLLER"]
    assert PINS["DISPLAY_CLOCK"] % 4 == 2 * PINS["DISPLAY_CONTROLLER"] + 1
    assert PINS["SUPPLY"] in (26, 27, 28, 29), "the converter reaches these only"


def test_wiring_table_says_what_the_firmware_does():
    page = (ROOT / "hardware" / "README.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| (\d+) \| (\d+) \| (.+) \|$", page, re.MULTILINE)
    assert len(rows) == len(WIRED)
    said = {int(gpio): (int(pin), what) for gpio, pin, what in rows}
    for name, words in WIRED.items():
        pin, what = said[PINS[name]]
        assert words in what
        assert pin == board_pin(PINS[name])
