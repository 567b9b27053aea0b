"""A thermometer on the display's wires, if there is one: TMP117 or MCP9808, told apart by what they call themselves.

Both measure by themselves, several times a second or once, from power-up on, and are only read here.
"""

from .bus import wires

# Address; register with its name, and the name; register of the temperature; how far that is shifted up to count in
# 1/128 degree. TMP117: data sheet SNOSD82, tables 7-2 to 7-14. MCP9808: DS25095A, sections 5.1.3 to 5.1.5.
_KINDS = (
    (0x48, 0x0F, 0x117, 0x00, 0),
    (0x18, 0x06, 0x054, 0x05, 3),  # above its sign stand three bits of alarms
)
_NAME = 0xFFF  # bits of the name; above, the TMP117 has its revision
_NOT_YET = -32768  # what a TMP117 holds until it has measured first


def find():
    """The thermometer that answers, for `read`; None without one."""
    for kind in _KINDS:
        try:
            if _word(kind[0], kind[1]) & _NAME == kind[2]:
                return kind
        except OSError:
            pass
    return None


def read(kind):
    """Tenths of a degree Celsius; None if it does not answer any more, or not yet."""
    address, _, _, register, shift = kind
    try:
        steps = _word(address, register) << shift & 0xFFFF
    except OSError:
        return None
    steps -= (steps & 0x8000) << 1
    return None if steps == _NOT_YET else (10 * steps + 64) // 128


def _word(address, register):
    data = wires.readfrom_mem(address, register, 2)
    return data[0] << 8 | data[1]
