"""The desk meter's screen in a terminal, two by four pixels to a character of braille, and its keys on the keyboard."""

import os
import re
import select
import signal
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from types import FrameType

from reedbench.desk.meter import DeskMeter
from reedbench.errors import BadInput
from reedbench.output import clean, pass_on

COLUMNS, LINES = 64, 16  # characters that the screen takes
WIDE, TALL = COLUMNS + 2, LINES + 4  # with its frame, and two lines below
KEYS = {
    **dict.fromkeys((b"\x1b[A", b"\x1bOA", b"u"), ("up", "tap")),
    **dict.fromkeys((b"\x1b[1;2A", b"U"), ("up", "hold")),
    **dict.fromkeys((b"\x1b[B", b"\x1bOB", b"d"), ("down", "tap")),
    **dict.fromkeys((b"\x1b[1;2B", b"D"), ("down", "hold")),
    **dict.fromkeys((b"\r", b"\n"), ("do", "tap")),
    **dict.fromkeys((b"m", b"M"), ("do", "hold")),
}
HELP = "up: ↑ or u   down: ↓ or d   do: Return, held: m   hold: Shift   q leaves"
LEAVING = (b"q", b"\x03", b"\x04")  # Ctrl-C and Ctrl-D too: they come as bytes here
_TYPED = re.compile(rb"\x1b\[[0-9;]*[A-Za-z~]|\x1bO[A-Z]|[^\x1b]")
_PAUSE_S = 0.04
# Dots of a braille character (Unicode 15, chapter 21.1): one column of four pixels, the lowest bit on top.
_LEFT = [sum(dot for bit, dot in enumerate((0x01, 0x02, 0x04, 0x40)) if four >> bit & 1) for four in range(16)]
_RIGHT = [sum(dot for bit, dot in enumerate((0x08, 0x10, 0x20, 0x80)) if four >> bit & 1) for four in range(16)]


def braille(pixels: bytes) -> list[str]:
    """LINES of COLUMNS characters, from a frame buffer as `DeskMeter.pixels`."""
    lines = []
    for line in range(LINES):
        page = pixels[line // 2 * 2 * COLUMNS :][: 2 * COLUMNS]
        fours = [byte >> 4 if line % 2 else byte & 15 for byte in page]
        pairs = zip(fours[::2], fours[1::2], strict=True)
        lines.append("".join(chr(0x2800 + _LEFT[left] + _RIGHT[right]) for left, right in pairs))
    return lines


def refuse_other_than_terminal() -> None:
    """BadInput where the screen cannot be drawn, or keys cannot be read."""
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput("--watch draws in a terminal and reads its keys: run it in one, with neither side redirected")
    if not sys.stdout.encoding.lower().startswith("utf"):
        raise BadInput(f"--watch draws with characters that {sys.stdout.encoding} lacks: set LANG=C.UTF-8")


def watch(meter: DeskMeter, title: str) -> None:
    """Shows the meter's screen, with `title` below it, and hands it keys until it ends or somebody leaves."""
    shown = None
    with suppress(OSError), _terminal():  # a terminal that is gone ends it too
        while meter.running:
            now = (_size(), meter.pixels)
            if now != shown:
                _draw(*now, title)
                shown = now
            for key in _typed():
                if key in LEAVING:
                    return
                if key in KEYS:
                    meter.press(*KEYS[key])


def _size() -> tuple[int, int]:
    """Columns and lines of the terminal; one that does not say is taken to be large enough."""
    columns, lines = os.get_terminal_size(sys.stdout.fileno())
    return columns or WIDE, lines or TALL


def _draw(size: tuple[int, int], pixels: bytes | None, title: str) -> None:
    columns, lines = size
    if columns < WIDE or lines < TALL:
        page = [f"The window has {columns} columns and {lines} lines; {WIDE} and {TALL} are needed."]
    else:
        picture = braille(pixels or bytes(8 * COLUMNS * LINES // 4))
        rule = "─" * COLUMNS
        page = [f"╭{rule}╮", *(f"│{line}│" for line in picture), f"╰{rule}╯", clean(title)[:columns], HELP[:columns]]
    pass_on("\x1b[H" + "\x1b[K\r\n".join(page) + "\x1b[J")
    sys.stdout.flush()


def _typed() -> Iterator[bytes]:
    """The keys pressed within the next moment, each as the bytes it sends."""
    if select.select([sys.stdin], [], [], _PAUSE_S)[0]:
        data = os.read(sys.stdin.fileno(), 1024)
        yield from _TYPED.findall(data) if data else LEAVING


@contextmanager
def _terminal() -> Iterator[None]:
    """The terminal's other screen, without a cursor, keys as bytes; as it was again afterwards, whatever happens."""
    import termios

    keyboard = sys.stdin.fileno()
    before = termios.tcgetattr(keyboard)
    ours = termios.tcgetattr(keyboard)
    ours[3] &= ~(termios.ICANON | termios.ECHO | termios.ISIG | termios.IEXTEN)
    ours[6][termios.VMIN], ours[6][termios.VTIME] = 1, 0
    handlers = {number: signal.signal(number, _end) for number in (signal.SIGTERM, signal.SIGHUP)}
    try:
        termios.tcsetattr(keyboard, termios.TCSANOW, ours)
        pass_on("\x1b[?1049h\x1b[?25l")
        yield
    finally:
        with suppress(termios.error):  # nor can one that is gone be restored
            termios.tcsetattr(keyboard, termios.TCSANOW, before)
        for number, handler in handlers.items():
            signal.signal(number, handler)
        pass_on("\x1b[?25h\x1b[?1049l")
        sys.stdout.flush()


def _end(number: int, frame: FrameType | None) -> None:
    raise SystemExit(128 + number)
