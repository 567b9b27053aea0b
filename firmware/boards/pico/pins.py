"""Which pin goes where; nothing else in the firmware knows. Numbers are GPIO numbers, not board pins.

Made from hardware/wiring.toml by `make hardware`.
"""

# Microphone: I2S, three wires. MicroPython's receiving program sets clock and word select with one
# instruction, as neighbours, so word select must be the pin above the clock.
MICROPHONE_CLOCK = 10
MICROPHONE_SELECT = 11
MICROPHONE_DATA = 12

# Display: I2C controller 0, which can reach these two. The chip is "SSD1306" or "SH1106".
DISPLAY_CHIP = "SSD1306"
DISPLAY_CONTROLLER = 0
DISPLAY_DATA = 4
DISPLAY_CLOCK = 5
DISPLAY_ADDRESS = 0x3C

# Keys: from the pin to ground; the board's own resistor pulls the pin up, so pressed reads 0.
KEY_UP = 6
KEY_DOWN = 7
KEY_DO = 8

# Wired on the board itself: a divider by three on its supply, and whether USB feeds it.
SUPPLY = 29
USB_POWER = 24
TEMPERATURE_CHANNEL = 4  # of the converter; inside the chip, no pin
