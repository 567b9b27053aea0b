"""What the board is, its supply, its temperature, and the way out of the firmware."""

import os
import struct
import sys
import time

import machine
import micropython

from . import pins, thermometer

NAME = "pico"
_FULL_SCALE_MV = 3300
_SUPPLY_DIVIDER = 3  # on the board
_DOZING_HZ = 18_000_000  # the slowest clock that the port can be told in round numbers
_at_the_instrument = thermometer.find()


def serial():
    """The flash chip's unique number, as the USB serial number of the board shows it."""
    return "".join(["%02X" % byte for byte in machine.unique_id()])


def cell_mv():
    """Voltage of the cell in millivolts; None while USB feeds the board, which hides the cell."""
    if machine.Pin(pins.USB_POWER, machine.Pin.IN).value():
        return None
    return machine.ADC(machine.Pin(pins.SUPPLY)).read_u16() * _FULL_SCALE_MV * _SUPPLY_DIVIDER // 65535


def rest(ms):
    """Does nothing for so long, at a slow clock; not while USB feeds the board, which needs 48 MHz (pico-sdk 1697).

    Not light sleep: hardware/power.md says why.
    """
    clock_hz = machine.freq()
    if cell_mv() is not None:
        machine.freq(_DOZING_HZ)
    time.sleep_ms(ms)
    machine.freq(clock_hz)


def temperature_dc():
    """Tenths of a degree Celsius: of the thermometer, None when it falls silent; of the chip where there was none.

    So no run of the meter has both. The chip's by the RP2040 data sheet, section 4.9.5: 27 degrees at 0.706 V and
    1.721 mV less per degree, good to a few degrees, no better.
    """
    if _at_the_instrument:
        return thermometer.read(_at_the_instrument)
    volts = machine.ADC(pins.TEMPERATURE_CHANNEL).read_u16() * 3.3 / 65535
    return round(10 * (27 - (volts - 0.706) / 0.001721))


def leave():
    """Ends the firmware: unwinds it with SystemExit, which main.py must catch so that the prompt follows."""
    micropython.kbd_intr(3)
    sys.exit()


def entropy():
    """32 random bits."""
    return struct.unpack("<I", os.urandom(4))[0]
