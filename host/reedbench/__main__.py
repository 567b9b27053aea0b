"""Starts the program, and is the one place where a failure becomes a line on stderr and an exit code.

Exit codes: those of `reedbench.errors`; 2 for a wrong command line; 130, as shells expect, after Ctrl-C.
"""

import errno
import os
import sys
import tempfile
import time
import traceback
from collections.abc import Sequence
from pathlib import Path

import click
import platformdirs

from reedbench.errors import ReedbenchError
from reedbench.output import be_quiet, say

FAILED = 1
INTERRUPTED = 130


def main() -> None:
    """Entry point of the `reedbench` command."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal that cannot show a letter of somebody's name is no reason to fail.
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    sys.exit(run(sys.argv[1:]))


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns its exit code and never raises."""
    try:
        from reedbench.cli import cli

        be_quiet(False)
        code = cli.main(list(arguments), prog_name="reedbench", standalone_mode=False)
        sys.stdout.flush()
        return code if isinstance(code, int) else 0
    except ReedbenchError as error:
        say(str(error))
        return error.exit_code
    except click.ClickException as error:
        say(_usage(error))
        return error.exit_code
    except (KeyboardInterrupt, click.Abort):
        say("stopped")
        return INTERRUPTED
    except SystemExit as ending:
        # click's own answer to a shell that asks for completions (0), or to a reader that went away (1)
        return ending.code if isinstance(ending.code, int) else FAILED
    except BrokenPipeError:
        _drop_output()
        return FAILED
    except Exception as error:
        if isinstance(error, OSError) and error.errno == errno.ENOSPC:
            say("the disk is full: not all of the output could be written")
            _drop_output()
        else:
            say(f"this is a fault in the program itself; what happened is written in {_log_traceback()}")
        return FAILED


def _drop_output() -> None:
    """Lets Python's flush at exit succeed, where what is left to write has nowhere to go."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _usage(error: click.ClickException) -> str:
    """A wrong command line in one line, with where to read on."""
    context = getattr(error, "ctx", None)
    where = context.command_path if context else "reedbench"
    return f"{error.format_message().rstrip('.')} (see `{where} --help`)"


def _log_traceback() -> Path:
    """Write the traceback of the exception being handled to a file of its own; returns its path."""
    name = time.strftime("reedbench-%Y%m%d-%H%M%S-") + f"{os.getpid()}.log"
    text = traceback.format_exc()
    for folder in (platformdirs.user_log_path("reedbench"), Path(tempfile.gettempdir())):
        try:
            folder.mkdir(parents=True, exist_ok=True)
            (folder / name).write_text(text, encoding="utf-8")
            return folder / name
        except OSError:
            continue
    sys.stderr.write(text)
    return Path("the lines above")


if __name__ == "__main__":
    main()
