"""The meter's parts on a Raspberry Pi Pico. Installed on the board as the package `board`."""
