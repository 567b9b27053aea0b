"""`reedbench install`: put the firmware onto a meter's board."""

from collections.abc import Iterator
from typing import Any

import click

from reedbench.errors import Failed
from reedbench.finding import the_board
from reedbench.handover import hand_over, take_back
from reedbench.image import USUAL, firmware_files
from reedbench.installing import bring, examine, processor
from reedbench.options import json_option, port_option, sure, yes_option
from reedbench.output import progress, report
from reedbench.prompt import at_prompt


@click.command("install")
@port_option
@yes_option
@json_option
def command(port: str | None, yes: bool, as_json: bool) -> None:
    """Put the meter's firmware, the one that came with this program, onto a board.

    It can be interrupted at any moment: until the new firmware is on the board whole, the old one runs. The meter's
    takes, its instrument and its settings stay. A blank board needs MicroPython on it first. You are asked before a
    board that holds something else is touched; its own files stay.

    \b
    Example:
        reedbench install
        reedbench install --port /dev/ttyACM1
    """
    port = the_board(port)

    def may(question: str) -> None:
        sure(question, yes)

    before = hand_over(port, may)
    with at_prompt(port) as board:
        compiled_for = processor(board)
        files = firmware_files(processor=compiled_for)
        found = examine(board, files)
        if found.others:
            may(
                f"The board on {port} holds something else ({', '.join(found.others)[:60]}). Its main.py would be "
                "replaced, everything else stays. Install there?"
            )
        with progress("copying file", len(files)) as step:
            brought = bring(board, found, files, step)
    after = take_back(port)
    if before and (before.epoch, before.next_sequence) != (after.epoch, after.next_sequence):
        raise Failed(
            f"the firmware is installed, but the meter's memory is not what it was: {before.records_from(0)} records "
            f"before, {after.records_from(0)} now; pull them, and please report it"
        )
    data: dict[str, Any] = {
        "meter": after.serial,
        "was": "meter" if found.slot else "other" if found.others else "blank",
        "firmware_before": before.firmware if before else None,
        "firmware": after.firmware,
        "installed": brought.switched,
        "files": len(files),
        "bytes": sum(map(len, files.values())),
        "processor": compiled_for,
        "copied": brought.copied,
        "folder": brought.slot,
        "records": after.records_from(0),
    }
    report(data, _lines(data), as_json)


def _lines(data: dict[str, Any]) -> Iterator[str]:
    if not data["installed"]:
        yield f"The meter has this very firmware ({data['firmware']}) already: nothing was changed."
    else:
        was = {"blank": "a blank board", "other": "a board with something else on it"}.get(data["was"], "a meter")
        if data["firmware_before"]:
            was += f" with the firmware {data['firmware_before']}"
        yield f"It was {was}. {data['files']} files, {data['bytes'] // 1000} kB, are on it and were read back."
        yield f"It starts the firmware {data['firmware']} from its folder {data['folder']} from now on."
    if data["processor"] != USUAL:
        yield "It is compiled for a Pico 2, on which nobody has tried it yet: do every step of hardware/bring-up.md."
    yield f"Meter {data['meter']} answers; {data['records']} records are in its memory."
