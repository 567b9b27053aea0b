"""Which boards `install` compiles for, by what they say of themselves, and which it refuses."""

from functools import cache
from typing import Any

import pytest
from mpremote.transport import Transport
from reedbench import image
from reedbench.errors import LinkFault
from reedbench.installing import examine, processor
from reedbench.prompt import Board

# `sys.implementation._mpy`: 0x1306 as an emulated Pico prints it; the others computed from MicroPython's
# py/persistentcode.h, where the Pico 2's RISC-V image has the architecture 11.
PICO, PICO_2, PICO_2_RISCV = 0x1306, 0x1F06, 0x2F06


@cache
def firmware_files(name: str) -> dict[str, bytes]:
    return image.firmware_files(processor=name)


class Says(Transport):  # type: ignore[misc]
    """A blank board that tells what it is."""

    def __init__(self, understands: int, version: tuple[int, int] = (1, 28), platform: str = "rp2") -> None:
        self.kind = (platform, version, understands)

    def exec(self, command: str | bytes, data_consumer: Any = None) -> bytes:
        return f"{self.kind!r}\n".encode()

    def eval(self, expression: str, parse: bool = True) -> Any:
        return []


@pytest.mark.parametrize(("understands", "name"), [(PICO, "armv6m"), (PICO_2, "armv7emsp")])
def test_a_board_gets_what_its_processor_runs(understands: int, name: str) -> None:
    board = Board(Says(understands))
    assert processor(board) == name
    assert examine(board, firmware_files(name)).slot is None


@pytest.mark.parametrize(
    "says",
    [Says(PICO_2_RISCV), Says(PICO, (1, 27)), Says(PICO_2, platform="mimxrt"), Says(PICO - 1)],
    ids=["RISC-V", "older", "another family", "another format"],
)
def test_a_board_that_could_not_run_it_is_refused(says: Says) -> None:
    board = Board(says)
    with pytest.raises(LinkFault, match="or newer for a Raspberry Pi Pico or Pico 2"):
        examine(board, firmware_files(processor(board)))


def test_code_for_one_is_not_put_onto_the_other() -> None:
    with pytest.raises(LinkFault):
        examine(Board(Says(PICO)), firmware_files("armv7emsp"))
