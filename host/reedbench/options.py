"""Options and arguments that several commands share, so that they are spelled and explained in one place."""

import functools
import math
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar, cast

import click

from reedbench.errors import BadInput
from reedbench.ledger import default_path
from reedbench.output import be_quiet, clean
from reedbench.temperature import BRASS_CENTS_PER_K, Correction

Function = TypeVar("Function", bound=Callable[..., Any])
LARGEST = 2**63 - 1  # number that the ledger can look for


def _set_quiet(context: click.Context, option: click.Parameter, quiet: bool) -> None:
    be_quiet(quiet)


quiet_option = click.option(
    "--quiet",
    "-q",
    is_flag=True,
    expose_value=False,
    callback=_set_quiet,
    help="Print nothing but the result and what went wrong.",
)


def json_option(function: Function) -> Function:
    """`--json`, and `--quiet` with it: how a command reports."""
    as_json = click.option("--json", "as_json", is_flag=True, help="Print JSON for another program.")
    return quiet_option(as_json(function))


ledger_option = click.option(
    "--ledger",
    "ledger_path",
    type=click.Path(path_type=Path),
    envvar="REEDBENCH_LEDGER",
    default=default_path,
    help="The ledger file; otherwise REEDBENCH_LEDGER, otherwise one in your data folder.",
)

port_option = click.option(
    "--port", help="The meter's port; needed only for a desk meter, or where several meters are connected."
)

yes_option = click.option("--yes", "-y", is_flag=True, help="Answer yes to what would be asked.")


def sure(question: str, yes: bool) -> None:
    """Goes on if `yes`, or if whoever sits at the terminal says so; click.Abort where not, BadInput without one."""
    if yes:
        return
    if not (sys.stdin.isatty() and sys.stderr.isatty()):
        raise BadInput(f"{question} There is no terminal to ask on: say --yes if so")
    click.confirm(clean(question), abort=True, err=True)


state_option = click.option(
    "--state",
    metavar="STATE",
    help='The state of sounding whose takes count, such as "covers off"; otherwise the last one of the survey.',
)

survey_argument = click.argument("survey", type=click.IntRange(1, LARGEST), required=False)


def correction_options(function: Function) -> Function:
    """`--celsius` and `--cents-per-kelvin`, which reach the command as `correction`, None where none is wanted."""

    @click.option("--celsius", type=float, help="Correct readings to this temperature, as the meter's board has it.")
    @click.option(
        "--cents-per-kelvin", type=float, help=f"How reeds answer to it; otherwise {BRASS_CENTS_PER_K:g}, for brass."
    )
    @functools.wraps(function)
    def command(*arguments: Any, celsius: float | None, cents_per_kelvin: float | None, **options: Any) -> Any:
        return function(*arguments, correction=_correction(celsius, cents_per_kelvin), **options)

    return cast(Function, command)


def _correction(celsius: float | None, cents_per_k: float | None) -> Correction | None:
    if celsius is None:
        if cents_per_k is not None:
            raise BadInput("--cents-per-kelvin says nothing without --celsius: add the temperature wanted")
        return None
    cents_per_k = BRASS_CENTS_PER_K if cents_per_k is None else cents_per_k
    if not (math.isfinite(celsius) and -20 <= celsius <= 60 and math.isfinite(cents_per_k) and -2 <= cents_per_k <= 2):
        raise BadInput("--celsius goes from -20 to 60, and --cents-per-kelvin from -2 to 2")
    return Correction(celsius, cents_per_k)
