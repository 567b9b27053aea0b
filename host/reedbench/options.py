"""Options and arguments that several commands share, so that they are spelled and explained in one place."""

from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

import click

from reedbench.ledger import default_path
from reedbench.output import be_quiet

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

state_option = click.option(
    "--state",
    metavar="STATE",
    help='The state of sounding whose takes count, such as "covers off"; otherwise the last one of the survey.',
)

survey_argument = click.argument("survey", type=click.IntRange(1, LARGEST), required=False)
