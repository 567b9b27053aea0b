"""A cable that spoils one byte of all that passes, with the firmware at its end, on MicroPython."""

import sys
from pathlib import Path

import serial

sys.path.append(str(Path(__file__).parents[1] / "powercut"))

from cut_bench import Bench

ANSWER_S = 0.005  # a meter that takes longer is asked again, which does no harm

FAULTS = {
    "gone": "the cable is pulled",
    "lost": "the byte does not arrive",
    "doubled": "it arrives twice",
    "flipped": "one of its bits does",
    "split": "a line feed comes before it",
    "delayed": "it, and what follows, comes only when the host has asked again",
}


class Spoiled:
    """As much of serial.Serial as reedbench.link uses. Byte `place` of all that passes meets `fault`, once."""

    def __init__(self, bench: Bench, fault: str = "", place: int = -1) -> None:
        self._bench = bench
        self._fault = fault
        self._place = place
        self._gone = False
        self._late_to_meter = self._late_to_host = self._arrived = b""
        self.passed = 0

    @property
    def in_waiting(self) -> int:
        return len(self._arrived)

    def write(self, data: bytes) -> None:
        now, late = self._spoil(data)
        self._bench.send(self._late_to_meter + now)
        self._late_to_meter = late
        self._arrived += self._late_to_host
        self._late_to_host = b""

    def read(self, size: int) -> bytes:
        if not self._arrived:
            self._arrived, self._late_to_host = self._spoil(self._bench.answered(ANSWER_S))
        data, self._arrived = self._arrived[:size], self._arrived[size:]
        return data

    def _spoil(self, data: bytes) -> tuple[bytes, bytes]:
        """What of `data` arrives now, and what only later."""
        if self._gone:
            raise serial.SerialException("the cable was pulled")
        at = self._place - self.passed
        self.passed += len(data)
        if not 0 <= at < len(data):
            return data, b""
        before, byte, after = data[:at], data[at : at + 1], data[at + 1 :]
        if self._fault == "gone":
            self._gone = True
            return before, b""
        if self._fault == "delayed":
            return before, byte + after
        flipped = bytes((byte[0] ^ 1 << self._place % 8,))
        instead = {"lost": b"", "doubled": byte + byte, "flipped": flipped, "split": b"\n" + byte}[self._fault]
        return before + instead + after, b""
