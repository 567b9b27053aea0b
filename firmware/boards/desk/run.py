"""Starts the firmware on a desk: micropython -X heapsize=4m firmware/boards/desk/run.py < SETTINGS

The settings come in over standard input, because MicroPython's Unix port takes no argument above 255 bytes.
They are one JSON object:

    flash       path of the flash image, made if absent
    port_fd     number of an open file: the meter's end of a pty
    player_fd   number of an open file: a socket to the player, see microphone.py
    keys        list of [ms, key, press], see keys.py
    screens     folder for a PNG file of every picture shown, or null
    serial      serial number of the board
    unix_s      what the calendar says at power-up, 0 for nothing

and these, which may be left out:

    keys_fd     number of an open file: keys as they are pressed, see keys.py
    watched     true if the player is to get the screen's pixels
    crystal_ppb  how much faster than this computer's clock the crystal runs, parts per billion, where time passes as
                there; otherwise it passes as samples are handed over
    faults      what is wrong with this desk: "no-microphone", "dropped-blocks", "no-display", "flash-full"
"""

import sys

sys.path[0] = (__file__.rsplit("/", 1)[0] if "/" in __file__ else ".") + "/../.."

from boards import desk
from boards.desk import bench

sys.modules["board"] = desk
try:
    bench.set_up(sys.stdin.read())
except ValueError as error:
    sys.stderr.write("desk meter: %s\n" % error)
    sys.exit(2)

import main

main.main()
