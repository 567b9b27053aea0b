"""The board of board_meter.py as a process, and what mpremote needs of one."""

import ast
import json
import subprocess
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from cut_bench import FIRMWARE, HERE, MICROPYTHON
from mpremote.transport import Transport, TransportExecError
from reedbench.image import BOOT, slot_of
from reedbench.installing import Brought, Found, bring
from reedbench.prompt import Board


class Prompt(Transport):  # type: ignore[misc]
    """mpremote's own work with files; only the serial line is left out."""

    def __init__(self, folder: Path) -> None:
        self._image, self._log = folder / "board-flash", folder / "board-log"
        self.execs = 0
        self.break_at: int | None = None
        self._process = subprocess.Popen(
            [
                str(MICROPYTHON),
                "-X",
                "heapsize=64m",
                str(HERE / "board_meter.py"),
                str(FIRMWARE),
                str(HERE.parent / "meter"),
            ],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
        )

    def tell(self, **what: Any) -> dict[str, Any]:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.write(json.dumps(what) + "\n")
        self._process.stdin.flush()
        answer: dict[str, Any] = json.loads(self._process.stdout.readline())
        return answer

    def on(self, image: bytes) -> None:
        self._image.write_bytes(image)
        self.tell(image=str(self._image), log=str(self._log))

    def off(self) -> bytes:
        self.tell(off=0)
        return self._image.read_bytes()

    @property
    def log(self) -> Path:
        """What was done to the flash from power on to power off."""
        return self._log

    def runs(self) -> str:
        """What the board's own program calls itself."""
        return str(self.tell(boot=0)["runs"])

    def exec(self, command: str | bytes, data_consumer: Any = None) -> bytes:
        if self.execs == self.break_at:
            raise OSError("the cable is out")
        self.execs += 1
        said = self.tell(exec=command if isinstance(command, str) else command.decode())
        if "fault" in said:
            raise TransportExecError(b"", said["fault"])
        out: bytes = said["out"].encode()
        if data_consumer:
            data_consumer(out)
        return out

    def eval(self, expression: str, parse: bool = True) -> Any:
        return ast.literal_eval(self.exec(f"print(repr({expression}))").decode().strip())

    def close(self) -> None:
        assert self._process.stdin and self._process.stdout
        self._process.stdin.close()
        self._process.wait(10)
        self._process.stdout.close()


def install(prompt: Prompt, files: Mapping[str, bytes]) -> Brought:
    """What `reedbench install` does at the prompt, whatever the processor."""
    board = Board(prompt)
    slot = slot_of(board.read(BOOT)) if BOOT in board.names() else None
    return bring(board, Found(slot, ()), files, lambda done: None)
