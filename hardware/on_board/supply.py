"""Supply, cell and temperatures, as the firmware sees them. On the board, with the firmware's files:

mpremote run hardware/on_board/supply.py
"""

import main  # noqa: F401 - it knows where the firmware lies
from board import pins, power, thermometer
from machine import ADC, Pin

TIMES = 64  # averaged: the converter's last bits are noise

converter = ADC(Pin(pins.SUPPLY))
counts = [converter.read_u16() for _ in range(TIMES)]
volts = 3 * 3.3 / 65535
print(f"supply {sum(counts) / TIMES * volts:.2f} V, within {(max(counts) - min(counts)) * volts:.2f} V")
print("USB feeds the board:", "yes" if Pin(pins.USB_POWER, Pin.IN).value() else "no")
print("cell, mV:", power.cell_mv())
chip = 27 - (ADC(pins.TEMPERATURE_CHANNEL).read_u16() * 3.3 / 65535 - 0.706) / 0.001721
print(f"chip {chip:.1f} degrees")
found = thermometer.find()
print("thermometer", f"at {found[0]:#04x}, tenths of a degree: {thermometer.read(found)}" if found else "none")
