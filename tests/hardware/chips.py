"""The displays' chips as their data sheets describe them: which commands there are, and what the glass then shows."""

from dataclasses import dataclass, field

# Command table of the SSD1306 data sheet, rev. 1.1, section 9, table 9-1, without scrolling: first and last code, how
# many bytes follow, and what each of those may be at least and at most.
SSD1306 = (
    (0x00, 0x0F, ()), (0x10, 0x17, ()), (0x20, 0x20, ((0, 2),)), (0x21, 0x21, ((0, 127), (0, 127))),
    (0x22, 0x22, ((0, 7), (0, 7))), (0x2E, 0x2F, ()), (0x40, 0x7F, ()), (0x81, 0x81, ((0, 255),)),
    (0x8D, 0x8D, ((0x10, 0x14),)), (0xA0, 0xA1, ()), (0xA4, 0xA5, ()), (0xA6, 0xA7, ()), (0xA8, 0xA8, ((15, 63),)),
    (0xAE, 0xAF, ()), (0xB0, 0xB7, ()), (0xC0, 0xC0, ()), (0xC8, 0xC8, ()), (0xD3, 0xD3, ((0, 63),)),
    (0xD5, 0xD5, ((0, 255),)), (0xD9, 0xD9, ((0x11, 0xFF),)), (0xDA, 0xDA, ((0x02, 0x32),)),
    (0xDB, 0xDB, ((0x00, 0x30),)), (0xE3, 0xE3, ()),
)  # fmt: skip
# Command table of the SH1106 data sheet, V2.3, the 22 commands that one can write; read again in a C header that
# repeats it with the data sheet's words.
SH1106 = (
    (0x00, 0x0F, ()), (0x10, 0x1F, ()), (0x30, 0x33, ()), (0x40, 0x7F, ()), (0x81, 0x81, ((0, 255),)),
    (0xA0, 0xA1, ()), (0xA4, 0xA5, ()), (0xA6, 0xA7, ()), (0xA8, 0xA8, ((0, 63),)), (0xAD, 0xAD, ((0x8A, 0x8B),)),
    (0xAE, 0xAF, ()), (0xB0, 0xB7, ()), (0xC0, 0xC0, ()), (0xC8, 0xC8, ()), (0xD3, 0xD3, ((0, 63),)),
    (0xD5, 0xD5, ((0, 255),)), (0xD9, 0xD9, ((0x11, 0xFF),)), (0xDA, 0xDA, ((0x02, 0x12),)),
    (0xDB, 0xDB, ((0, 255),)), (0xE0, 0xE0, ()), (0xEE, 0xEE, ()), (0xE3, 0xE3, ()),
)  # fmt: skip


@dataclass
class Chip:
    """One chip, fed with what comes over I2C. `columns` of memory, of which the glass shows 128 from `first` on."""

    commands: tuple[tuple[int, int, tuple[tuple[int, int], ...]], ...]
    columns: int
    first: int
    wraps: bool  # whether the column goes on at 0 after the last one; an SH1106 stays there
    set_to: dict[int, int] = field(default_factory=dict)  # the last byte after each command that takes any
    seen: set[int] = field(default_factory=set)
    column: int = 0
    page: int = 0
    on: bool = False
    pump_set_while_off: bool = False

    def __post_init__(self) -> None:
        self.memory = [[0x55] * self.columns for _ in range(8)]  # it powers up with noise

    def take(self, message: bytes) -> None:
        """One I2C message: the control byte says whether all that follows are commands or picture."""
        assert message[0] in (0x00, 0x40), f"control byte {message[0]:#04x}"
        if message[0] == 0x40:
            for byte in message[1:]:
                assert self.column < self.columns, f"more picture than memory: column {self.column}"
                self.memory[self.page][self.column] = byte
                self.column = (self.column + 1) % self.columns if self.wraps else self.column + 1
            return
        rest = list(message[1:])
        while rest:
            self._command(rest)

    def _command(self, rest: list[int]) -> None:
        code = rest.pop(0)
        ranges = [values for low, high, values in self.commands if low <= code <= high]
        assert ranges, f"{code:#04x} is no command of this chip"
        for low, high in ranges[0]:
            self.set_to[code] = rest.pop(0)
            assert low <= self.set_to[code] <= high, f"{self.set_to[code]:#04x} after {code:#04x}"
        self.seen.add(code)
        if code <= 0x0F:
            self.column = self.column & 0xF0 | code
        elif code <= 0x1F:
            self.column = self.column & 0x0F | (code & 0x0F) << 4
        elif 0xB0 <= code <= 0xB7:
            self.page = code & 7
        elif code in (0xAE, 0xAF):
            self.on = code == 0xAF
        elif code in (0x8D, 0xAD):
            self.pump_set_while_off = not self.on

    def lit(self) -> list[list[bool]]:
        """Rows of what one sees: segments and lines turned (A1, C8), so that the first column is on the left."""
        assert self.on and {0xA1, 0xC8, 0xA4, 0xA6, 0x40} <= self.seen
        assert (self.set_to[0xD3], self.set_to[0xA8], self.set_to[0xDA]) == (0, 63, 0x12)
        rows = []
        for row in range(64):
            page = self.memory[row // 8][self.first : self.first + 128]
            rows.append([bool(byte >> row % 8 & 1) for byte in page])
        return rows


def chip(name: str) -> Chip:
    """A chip fresh from the shop."""
    return {"SSD1306": Chip(SSD1306, 128, 0, True), "SH1106": Chip(SH1106, 132, 2, False)}[name]
