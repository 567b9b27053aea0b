"""Makes docs/protocol.md, commands.md, exchange.md and schema.json from the tables and commands that they are about.

.venv/bin/python docs/make_pages.py            write the pages
.venv/bin/python docs/make_pages.py --check    write nothing; exit code 1 if a page is out of date
"""

import inspect
import json
import struct
import sys
import textwrap
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import click
import json_schema
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from json_keys import KEYS, TALKING
from reedbench import exporting, importing
from reedbench.__main__ import INTERRUPTED
from reedbench.cli import COMMANDS, cli
from reedbench.errors import BadInput, Failed, LinkFault, NoMeter
from reedbench.firmware.wire import errors, explained, frames, messages, record
from reedbench.hand import counting
from reedbench.layouts.schema import BREATHS
from reedbench.reading import FLAG_WORDS

DOCS = Path(__file__).parent
PAGES = ("protocol.md", "commands.md", "exchange.md", "schema.json")
CODES = {"b": "i8", "B": "u8", "h": "i16", "H": "u16", "i": "i32", "I": "u32"}


def main(arguments: list[str]) -> int:
    """Write the pages, or look whether they are up to date; returns the exit code."""
    stale = []
    for name in PAGES:
        text = page(name)
        path = DOCS / name
        if path.exists() and path.read_text(encoding="utf-8") == text:
            continue
        if "--check" in arguments:
            stale.append(name)
        else:
            path.write_text(text, encoding="utf-8")
    if stale:
        print(f"out of date: {', '.join(stale)}; run `make pages`", file=sys.stderr)
    return 1 if stale else 0


def page(name: str) -> str:
    """The text of one page."""
    if name == "schema.json":
        return json.dumps(json_schema.schema(), ensure_ascii=False, indent=1) + "\n"
    environment = Environment(
        loader=FileSystemLoader(DOCS / "templates"),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        autoescape=False,  # Markdown, of our own texts only
    )
    environment.filters["cell"] = cell
    facts = {"protocol.md": protocol, "commands.md": commands, "exchange.md": exchange}[name]
    return environment.get_template(f"{name}.j2").render(facts())


def cell(text: str) -> str:
    """`text` in a cell of a Markdown table."""
    return text.replace("|", "\\|").replace("\n", " ")


def protocol() -> dict[str, Any]:
    """What the page about the protocol is made of."""
    return {
        "frames": frames,
        "protocol": messages.PROTOCOL,
        "messages": [messages.MESSAGES[name] for name in messages.MESSAGES],
        "explained": explained,
        "codes": errors.CODES,
        "talk": list(conversation()),
        "record": record,
        "kinds": [
            {"number": number, "name": kind, "fields": list(laid_out(kind, fields)), "size": size_of(fields)}
            for number, (kind, fields) in record.KINDS.items()
        ],
        "flags": [(bit, name, FLAG_WORDS[name], name in record.NO_FIGURE) for bit, name in enumerate(record.FLAGS)],
    }


def size_of(fields: tuple[tuple[str, str], ...]) -> int:
    """Bytes of a record's payload."""
    return struct.calcsize("<" + "".join(code for _, code in fields))


def laid_out(kind: str, fields: tuple[tuple[str, str], ...]) -> Iterator[dict[str, Any]]:
    """Place in the record, type and meaning of every field."""
    for number, (name, code) in enumerate(fields):
        count = code[:-1]
        words = f"text, {count} bytes" if code[-1] == "s" else f"{count} x {CODES[code[-1]]}" if count else CODES[code]
        yield {
            "name": name,
            "at": record.HEAD_SIZE + size_of(fields[:number]),
            "size": struct.calcsize("<" + code),
            "type": words,
            "meaning": explained.RECORDED[kind, name],
        }


def conversation() -> Iterator[str]:
    """A pull, line by line, as it would pass over the cable."""
    end = record.pack("end", 41, {"survey": 7, "unix_s": 1_800_000_000})
    hello = {"protocol": 1, "firmware": "0.1.0", "board": "pico", "serial": "e6614103e7452d2f", "epoch": 3405691582}
    hello |= {"first_seq": 7, "next_seq": 42, "free": 1_210_000, "torn": 0, "home": "5b1e99c2"}
    said = [
        ("hello", {"protocol": messages.PROTOCOL, "ledger": "5b1e99c2"}, hello),
        ("clock", {"unix_s": 1_800_000_100}, {"was_unix_s": 0, "meter_ms": 734_112}),
        ("pull", {"from_seq": 41, "room": messages.PULL_ROOM}, {"records": end, "next_seq": 42}),
        ("acknowledge", {"ledger": "5b1e99c2", "before_seq": 42}, {"freed": 5_120}),
    ]
    for number, (name, asked, answered) in enumerate(said, start=0x0A3F):
        yield line(number, messages.ask(name, asked))
        yield line(number, messages.answer(name, answered))
    yield line(number + 1, messages.ask(name, asked))
    yield line(number + 1, messages.refusal(errors.WireError("busy", errors.CODES["busy"])))


def line(number: int, body: str) -> str:
    """One line of the link, without its line feed."""
    return str(frames.pack(number, body).decode().rstrip())


def exchange() -> dict[str, Any]:
    """What the page about tables is made of."""
    return {
        "tables": exporting.TABLES,
        "breaths": BREATHS,
        "far": importing.FAR_CENTS,
        "u95": importing.U95_CENTS,
        "states": record.STATES,
        "winds": record.WINDS,
        "strokes": counting.STROKES,
        "rows": importing.ROWS_MOST,
        "kib": importing.LONGEST_BYTES >> 10,
    }


def commands() -> dict[str, Any]:
    """What the page about the commands is made of."""
    codes = [
        (0, "done"),
        *((error.exit_code, inspect.getdoc(error)) for error in (Failed, BadInput, NoMeter, LinkFault)),
    ]
    return {
        "about": inspect.cleandoc(cli.help or ""),
        "codes": [*codes, (INTERRUPTED, "Stopped with Ctrl-C.")],
        "commands": [described(name, command) for name, command in every_command()],
    }


def every_command() -> Iterator[tuple[str, click.Command]]:
    """All commands and the commands within them, by the name they are called with, in the order of the work."""
    context = click.Context(cli)
    for name in COMMANDS:
        command = cli.get_command(context, name)
        assert command is not None
        yield name, command
        if isinstance(command, click.Group):
            yield from ((f"{name} {inner}", within) for inner, within in sorted(command.commands.items()))


def described(name: str, command: click.Command) -> dict[str, Any]:
    """One command, as its page shows it."""
    context = click.Context(command, info_name=f"reedbench {name}")
    return {
        "name": name,
        "usage": " ".join(["reedbench", name, *command.collect_usage_pieces(context)]),
        "help": list(paragraphs(command)),
        "options": [option(one) for one in command.params if isinstance(one, click.Option)],
        "codes": [0, 1, 2, *((3, 4) if name.split(" ")[0] in TALKING else ()), INTERRUPTED],
        "group": isinstance(command, click.Group),
        "keys": {
            called.removeprefix(name).strip(): keys
            for called, keys in KEYS.items()
            if called == name or called.startswith(f"{name} --")
        },
    }


def option(one: click.Option) -> tuple[str, str]:
    """An option as it is written, and what it means; in our own words, lest the page change with click's."""
    if one.is_flag:
        value = ""
    elif isinstance(one.type, click.Choice):
        value = " " + "|".join(one.type.choices)
    else:
        value = " " + (one.metavar or one.type.name.split(" ")[0].upper())
    more = []
    if isinstance(one.type, click.IntRange | click.FloatRange):
        more.append(f"{one.type.min:.10g} to {one.type.max:.10g}")
    if one.show_default:
        more.append(f"otherwise {one.default:.10g}" if isinstance(one.default, float) else f"otherwise {one.default}")
    meaning = one.help or ""
    return ", ".join(one.opts) + value, f"{meaning} ({', '.join(more)})" if more else meaning


def paragraphs(command: click.Command) -> Iterator[tuple[str, str]]:
    """(text, example or "") of each paragraph of a command's help."""
    for text in inspect.cleandoc(command.help or "").split("\n\n"):
        if text.startswith("\b\n"):
            title, _, example = text.removeprefix("\b\n").partition("\n")
            yield title, textwrap.dedent(example)
        else:
            yield text.replace("\n", " "), ""


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
